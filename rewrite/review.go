package rewrite

import (
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Comparison is what changed between two versions of a draft, in the order of the new one with what is gone where it was. Every
// account of changes is drawn from it. Values are listed one for each of Sizes, nil where a version does not have that size.
type Comparison struct {
	Old, New   Version
	Conversion *Conversion // where the new version was made from the old one, else nil: two drafts
	Sizes      []SizePair
	Gauges     []GaugePair
	Measures   []MeasurePair
	Block      bool    // the draft block says something else that is not among these: its comments, say
	Totals     []Total // what the garment measures, the measure that sizes are chosen by first
	Pieces     []PieceChange
	Tally      Tally

	versions [2]*Conversion // of two drafts, each as it stands
	paired   []couple       // their instructions
}

// Version is one of the two.
type Version struct {
	File  *grammar.File // a conversion's is that of its draft, in both
	Draft *dsl.Draft
	Unit  grammar.Unit // what it is written in
}

// State is what became of something.
type State int

const (
	Same State = iota
	Changed
	Extended // the same in the sizes that both versions have, with values for others that are new
	Added
	Dropped
)

func (s State) String() string {
	return [...]string{"same", "changed", "extended", "added", "dropped"}[s]
}

// SizePair is a size by its name, and its place among those of each version, -1 where it has none. A wearer's size is beside the
// drafted one it is nearest to, Beside.
type SizePair struct {
	Name     string
	Beside   string
	Old, New int
}

// GaugePair is a fabric and its gauge in each version, nil where it has none.
type GaugePair struct {
	Fabric   string
	Is       State
	Old, New *GaugeChange
}

// MeasurePair is a measure of the draft block, in centimetres or plain.
type MeasurePair struct {
	Name     string
	Is       State
	Length   bool
	Unit     grammar.Unit
	Old, New []*big.Rat
	// WasSaid and Said are the expressions, where those differ.
	WasSaid, Said string
}

// Total is a measure of the finished garment: what each version asks for and what it comes to, in centimetres. Wanted values are
// nil where nothing asks for it.
type Total struct {
	Name                 string
	Fits                 bool // it is the measure of a body that the garment fits, all else in it being as asked for
	Unit                 grammar.Unit
	OldWanted, NewWanted []*big.Rat
	Old, New             []*big.Rat
}

// Miss is the largest difference between what a version asks for and what it comes to, too large being positive, and the
// size it is found in. It is nil where nothing asks for it.
func (t *Total) Miss(now bool) (by *big.Rat, size int) {
	wanted, is := t.OldWanted, t.Old
	if now {
		wanted, is = t.NewWanted, t.New
	}
	for i := range is {
		if is[i] == nil || wanted[i] == nil {
			continue
		}
		off := new(big.Rat).Sub(is[i], wanted[i])
		if by == nil || new(big.Rat).Abs(off).Cmp(new(big.Rat).Abs(by)) > 0 {
			by, size = off, i
		}
	}
	return by, size
}

// PieceChange is what changed under one heading.
type PieceChange struct {
	Name  string // "" before the first heading
	Was   string // what the heading was called, where that is something else
	Moved bool   // the whole piece stands elsewhere
	Marks []MarkPair
	Prose []ProseChange
}

// MarkPair is a marked instruction in both versions, or in the one that has it.
type MarkPair struct {
	Is       State
	Old, New int // indices of marks, -1
	Moved    bool
	From     string // the heading it was moved from, where that is another
	Name     string
	WasName  string // the name it had, "" for none
	Label    string // its words without numbers: `cast on … sts`
	Was, Now string // the whole instruction
	Reworded bool   // more than numbers changed in it
	// WasTied and Tied are what stands behind the bar, where that differs.
	WasTied, Tied string
	Numbers       []NumberPair
}

// Renamed says whether an instruction that both versions have got another label, or has one no longer, or did not have one.
func (m *MarkPair) Renamed() bool {
	return m.Old >= 0 && m.New >= 0 && grammar.Key(m.WasName) != grammar.Key(m.Name)
}

// NumberPair is one number in both versions, or in the one that has it.
type NumberPair struct {
	Is       State
	Name     string
	Phrase   string // what it belongs to in the trade's words
	Kind     dsl.Kind
	Unit     grammar.Unit
	Style    grammar.ListStyle
	Old, New []*big.Rat // in their own unit
	// OldMeasures and Measures are what it comes to, Wanted what the new version should, in centimetres; nil where it has no
	// size of its own, or where nothing says what it should be.
	OldMeasures, Measures, Wanted []*big.Rat
	Tied, Assumed                 bool
	Why                           string // why it differs, or is what it is, in one short sentence without its full stop; "" where only the author knows
}

// ProseChange is a paragraph of the text that changed; instructions stand in it by their words.
type ProseChange struct {
	Is       State
	Moved    bool
	Old, New grammar.Span
	Was, Now string
}

// Tally counts what changed.
type Tally struct {
	Numbers, Changed                      int // numbers of instructions that both versions have
	Extended                              int
	Added, Dropped, Moved, Reworded, Ties int // instructions
	Renamed                               int // instructions whose label is another
	Pieces                                int // whole pieces that stand elsewhere
	Prose                                 int
	Sizes, Gauges, Measures               int
	Block                                 int
}

// Any says whether anything changed.
func (t Tally) Any() bool {
	return t.Changed+t.Extended+t.Added+t.Dropped+t.Moved+t.Reworded+t.Ties+t.Renamed+t.Pieces+t.Prose+t.Sizes+t.Gauges+t.Measures+t.Block > 0
}

// Review compares two versions of a draft. Instructions are paired by name, place and kind; sizes, fabrics and measures by name.
func Review(old, new *dsl.Draft) *Comparison {
	x := &comparer{old: asDrafted(old), new: asDrafted(new), out: &Comparison{}}
	x.out.Old, x.out.New = Version{old.File, old, old.Unit()}, Version{new.File, new, new.Unit()}
	x.sizesByName()
	x.gauges()
	x.measures()
	x.block()
	x.totals()
	var p pairing
	x.outline, p = pairMarks(old, new)
	x.out.versions, x.out.paired = [2]*Conversion{x.old, x.new}, p.pairs
	x.marks(p)
	x.prose(p)
	x.tally()
	return x.out
}

// Review is what a conversion changed in its draft.
func (c *Conversion) Review() *Comparison {
	x := &comparer{old: asDrafted(c.Draft), new: c, out: &Comparison{Conversion: c}}
	v := Version{c.Draft.File, c.Draft, c.Draft.Unit()}
	x.out.Old, x.out.New = v, v
	x.sizesAsked()
	x.gauges()
	x.measures()
	x.totals()
	p := pairing{moved: map[couple]bool{}}
	x.outline = &outline{became: map[int]int{}}
	for i := range len(c.Draft.File.Headings) + 1 {
		x.outline.became[i] = i
	}
	for i := range c.Draft.File.Marks {
		p.pairs = append(p.pairs, couple{i, i})
	}
	x.marks(p)
	x.tally()
	return x.out
}

// comparer makes a Comparison of a draft as it stands and of another, or of its conversion.
type comparer struct {
	old, new *Conversion
	out      *Comparison
	byMark   [2][][]int // the numbers of each mark, old and new, as indices of Numbers
	outline  *outline
	piece    map[int]int     // new headings (from 0: before the first), and old ones that are gone by goneKey, → Pieces
	gaugeOf  map[string]bool // fabrics whose gauge is another now, by key
}

func (x *comparer) converted() bool { return x.out.Conversion != nil }

type draftedKey struct{}

// asDrafted is a draft as the conversion of itself in which nothing was chosen anew: what is tied should be what its tie says. It
// hangs on the draft alone and is kept with it.
func asDrafted(d *dsl.Draft) *Conversion {
	return d.Keep(draftedKey{}, func() any { return newAsDrafted(d) }).(*Conversion)
}

func newAsDrafted(d *dsl.Draft) *Conversion {
	c := &converter{d: d, c: &Conversion{Draft: d, New: d.File.Src, Proven: true, Unchanged: true}, old: d.DraftedGauges()}
	c.gauges()
	c.targets()
	c.wishLengths()
	for s := range c.c.Targets {
		c.c.solved = append(c.c.solved, c.asDrafted(s))
		c.c.values = append(c.c.values, c.c.solved[s].values)
	}
	c.measures()
	w := &writer{converter: c, out: make([][]*big.Rat, len(d.Quantities))}
	for _, q := range d.Quantities {
		if q.Hidden() {
			continue
		}
		for t := range c.c.Targets {
			w.out[q.ID] = append(w.out[q.ID], q.Value.Nums[min(w.index(q.Mark, q.Value, t), len(q.Value.Nums)-1)].Val)
		}
	}
	w.numbers()
	evals := make([]func(grammar.Expr) (*dsl.Form, error), len(c.c.Targets))
	for t, target := range c.c.Targets {
		evals[t] = d.Evaluator(target, c.old)
	}
	for i := range c.c.Numbers {
		n := &c.c.Numbers[i]
		q := d.Quantities[n.Quantity]
		if q.Kind == dsl.Length && q.Tie != nil && q.Tie.Kind == dsl.Length {
			for t, eval := range evals {
				if f, err := eval(q.Tie.Expr); err == nil {
					n.Wanted[t] = f.Const
				}
			}
		}
	}
	return c.c
}

// asDrafted is a size as it stands: the drafted numbers, with what their ties ask for.
func (c *converter) asDrafted(size int) *solved {
	d, ground := c.d, groundOf(c.d, size)
	s := &solved{target: c.c.Targets[size], run: ground.run, index: ground.index, values: make([]int64, len(d.Quantities)),
		wanted: slices.Clone(ground.drafted), length: make([]*big.Rat, len(ground.run.Lengths)), depart: make([]*big.Rat, len(ground.run.Scores))}
	for i, q := range d.Quantities {
		if size < len(q.Drafted) {
			s.values[i] = q.Drafted[size]
		}
	}
	for i := range s.run.Lengths {
		s.length[i], _ = d.Stated(d.Quantities[s.run.Lengths[i].Length], s.target)
	}
	s.askTies(d, c.old)
	return s
}

// askTies makes what the ties say what is wished for.
func (s *solved) askTies(d *dsl.Draft, gauges []dsl.Gauge) {
	eval := d.Evaluator(s.target, gauges)
	tied := func(q *dsl.Quantity) *big.Rat {
		if q.Tie == nil || q.Tie.Kind != dsl.Length {
			return nil
		}
		f, err := eval(q.Tie.Expr)
		if err != nil {
			return nil
		}
		return f.Const
	}
	for i := range s.run.Scores {
		if t := s.run.Scores[i].Tie; t >= 0 {
			if x := tied(d.Quantities[t]); x != nil {
				s.wanted[i] = dsl.FractionFrom(x)
			}
		}
	}
	for i := range s.run.Lengths {
		if x := tied(d.Quantities[s.run.Lengths[i].Length]); x != nil {
			s.length[i] = x
		}
	}
}

// sizesByName pairs sizes by name, in the order of the new draft, with those that are gone after the one they stood behind.
// A draft with one size pairs with another with one, whatever they are called.
func (x *comparer) sizesByName() {
	a, b := x.old.Targets, x.new.Targets
	if len(a) == 1 && len(b) == 1 {
		x.out.Sizes = []SizePair{{Name: b[0].Name, Old: 0, New: 0}}
		if grammar.Key(a[0].Name) != grammar.Key(b[0].Name) {
			x.out.Sizes[0].Beside = a[0].Name
		}
		return
	}
	in := func(list []dsl.Target, name string) int {
		return slices.IndexFunc(list, func(t dsl.Target) bool { return grammar.Key(t.Name) == grammar.Key(name) })
	}
	for j, t := range b {
		x.out.Sizes = append(x.out.Sizes, SizePair{Name: t.Name, Old: in(a, t.Name), New: j})
	}
	for i, t := range a {
		if in(b, t.Name) >= 0 {
			continue
		}
		at := 0
		for k, s := range x.out.Sizes {
			if s.Old >= 0 && s.Old < i {
				at = k + 1
			}
		}
		x.out.Sizes = slices.Insert(x.out.Sizes, at, SizePair{Name: t.Name, Old: i, New: -1})
	}
}

// sizesAsked pairs the sizes of a conversion with those they were drafted as; others were not asked for, and are no change.
func (x *comparer) sizesAsked() {
	for j, t := range x.new.Targets {
		p := SizePair{Name: t.Name, Old: t.Base(), New: j}
		if drafted := x.old.Targets[p.Old].Name; drafted != t.Name {
			p.Beside = drafted
		}
		x.out.Sizes = append(x.out.Sizes, p)
	}
}

// column puts values in the order of Sizes.
func (x *comparer) column(values []*big.Rat, now bool) []*big.Rat {
	out := make([]*big.Rat, len(x.out.Sizes))
	any := false
	for i, s := range x.out.Sizes {
		at := s.Old
		if now {
			at = s.New
		}
		if at >= 0 && at < len(values) {
			out[i] = values[at]
			any = any || values[at] != nil
		}
	}
	if !any {
		return nil
	}
	return out
}

// differ says how two lists differ: in a size that both versions have, or only in that there are values for new sizes that are
// not simply those of all the others.
func differ(old, new []*big.Rat) State {
	var before *big.Rat
	alike, more := true, false
	for i := range max(len(old), len(new)) {
		var a, b *big.Rat
		if i < len(old) {
			a = old[i]
		}
		if i < len(new) {
			b = new[i]
		}
		switch {
		case a != nil && b != nil && a.Cmp(b) != 0:
			return Changed
		case a == nil && b != nil:
			more = true
		}
		if b != nil {
			alike = alike && (before == nil || before.Cmp(b) == 0)
			before = b
		}
	}
	if more && !alike {
		return Extended
	}
	return Same
}

func (x *comparer) gauges() {
	x.gaugeOf = map[string]bool{}
	if x.converted() {
		for i := range x.new.Gauges {
			g := &x.new.Gauges[i]
			p := GaugePair{Fabric: g.Fabric, Old: &x.old.Gauges[i], New: g}
			if !g.From.Same(g.To) {
				p.Is = Changed
			}
			x.gauge(p)
		}
		return
	}
	in := func(list []GaugeChange, name string) *GaugeChange {
		for i := range list {
			if grammar.Key(list[i].Fabric) == grammar.Key(name) {
				return &list[i]
			}
		}
		return nil
	}
	for i := range x.new.Gauges {
		g := &x.new.Gauges[i]
		p := GaugePair{Fabric: g.Fabric, Old: in(x.old.Gauges, g.Fabric), New: g, Is: Added}
		if p.Old != nil {
			p.Is = Same
			if !p.Old.To.Same(g.To) || !sameUnwashed(x.old.Draft, x.new.Draft, g.Fabric) {
				p.Is = Changed
			}
		}
		x.gauge(p)
	}
	for i := range x.old.Gauges {
		if g := &x.old.Gauges[i]; in(x.new.Gauges, g.Fabric) == nil {
			x.gauge(GaugePair{Fabric: g.Fabric, Old: g, Is: Dropped})
		}
	}
}

func (x *comparer) gauge(p GaugePair) {
	x.out.Gauges = append(x.out.Gauges, p)
	x.gaugeOf[grammar.Key(p.Fabric)] = p.Is == Changed
}

func sameUnwashed(old, new *dsl.Draft, fabric string) bool {
	of := func(d *dsl.Draft) *dsl.Gauge {
		for _, f := range d.Fabrics {
			if grammar.Key(f.Name) == grammar.Key(fabric) {
				return f.Unwashed
			}
		}
		return nil
	}
	a, b := of(old), of(new)
	if a == nil || b == nil {
		return a == b
	}
	return a.Same(*b)
}

func (x *comparer) measures() {
	old := map[string]int{}
	for i, m := range x.old.Measures {
		old[grammar.Key(m.Name)] = i
	}
	for j, m := range x.new.Measures {
		p := MeasurePair{Name: m.Name, Length: m.Length, Unit: m.Unit, New: x.column(m.To, true), Is: Added}
		if i, ok := old[grammar.Key(m.Name)]; ok {
			delete(old, grammar.Key(m.Name))
			p.Old = x.column(x.old.Measures[i].To, false)
			if p.Is = differ(p.Old, p.New); !x.converted() {
				said := func(d *dsl.Draft, k int) string { return fold(d.File.Text(d.Measures[k].Expr.ExprSpan())) }
				was, is := said(x.old.Draft, i), said(x.new.Draft, j)
				if was != is && !(figure(x.old.Draft.Measures[i].Expr) && figure(x.new.Draft.Measures[j].Expr)) && !x.sameExpr(x.old.Draft.Measures[i].Expr, x.new.Draft.Measures[j].Expr) {
					p.WasSaid, p.Said = was, is
				}
			}
		}
		x.out.Measures = append(x.out.Measures, p)
	}
	for _, m := range x.old.Measures {
		if _, gone := old[grammar.Key(m.Name)]; gone {
			x.out.Measures = append(x.out.Measures, MeasurePair{Name: m.Name, Length: m.Length, Unit: m.Unit, Old: x.column(m.To, false), Is: Dropped})
		}
	}
}

// figure says whether an expression is a plain figure, which its value tells all of.
func figure(e grammar.Expr) bool {
	_, ok := e.(*grammar.Lit)
	return ok
}

// sameExpr says whether two expressions say the same in every size that both versions have.
func (x *comparer) sameExpr(a, b grammar.Expr) bool {
	switch a := a.(type) {
	case *grammar.Lit:
		b, ok := b.(*grammar.Lit)
		return ok && a.Value.Unit == b.Value.Unit && differ(x.column(x.spread(a.Value, x.old), false), x.column(x.spread(b.Value, x.new), true)) != Changed
	case *grammar.NameRef:
		b, ok := b.(*grammar.NameRef)
		return ok && a.Name.Key == b.Name.Key
	case *grammar.Binary:
		b, ok := b.(*grammar.Binary)
		return ok && a.Op == b.Op && x.sameExpr(a.L, b.L) && x.sameExpr(a.R, b.R)
	case *grammar.Neg:
		b, ok := b.(*grammar.Neg)
		return ok && x.sameExpr(a.X, b.X)
	case *grammar.InFabric:
		b, ok := b.(*grammar.InFabric)
		return ok && a.Fabric.Key == b.Fabric.Key && x.sameExpr(a.X, b.X)
	case *grammar.Choice:
		b, ok := b.(*grammar.Choice)
		same := ok && a.Larger == b.Larger && len(a.Of) == len(b.Of)
		for i := range a.Of {
			same = same && x.sameExpr(a.Of[i], b.Of[i])
		}
		return same
	}
	return false
}

// spread is a written value for each size of a version.
func (x *comparer) spread(v *grammar.Value, c *Conversion) []*big.Rat {
	out := make([]*big.Rat, len(c.Targets))
	for i := range out {
		out[i] = v.Nums[min(i, len(v.Nums)-1)].Val
	}
	return out
}

// block says whether the blocks differ in something that is not told otherwise: in a comment, or in what sizes are chosen by.
func (x *comparer) block() {
	sizedBy := func(d *dsl.Draft) string {
		if d.SizedBy < 0 {
			return ""
		}
		return d.Measures[d.SizedBy].Name.Key
	}
	x.out.Block = blockRest(x.old.Draft) != blockRest(x.new.Draft) || sizedBy(x.old.Draft) != sizedBy(x.new.Draft)
}

// blockRest is what a draft's block says besides fabrics, sizes and measures.
func blockRest(d *dsl.Draft) string {
	b := d.Block
	var said []grammar.Span
	for _, f := range b.Fabrics {
		said = append(said, f.Span)
	}
	for _, m := range b.Measures {
		said = append(said, m.Span)
	}
	if b.Sizes != nil {
		said = append(said, b.Sizes.Span)
	}
	slices.SortFunc(said, func(a, b grammar.Span) int { return a.Start - b.Start })
	var rest strings.Builder
	at := b.Body.Start
	for _, s := range said {
		rest.WriteString(d.File.Text(grammar.Span{Start: at, End: s.Start}) + " ")
		at = s.End
	}
	return fold(rest.String() + d.File.Text(grammar.Span{Start: at, End: b.Body.End}))
}

// totals are what the garment measures in both versions: what is tied to a measurement, and how high each piece is.
func (x *comparer) totals() {
	at, widest := map[string]int{}, map[string]bool{}
	entry := func(name string, u grammar.Unit) *Total {
		key := grammar.Key(withoutSizes(name))
		i, ok := at[key]
		if !ok {
			n := len(x.out.Sizes)
			i = len(x.out.Totals)
			at[key] = i
			x.out.Totals = append(x.out.Totals, Total{Name: name, Unit: u, OldWanted: make([]*big.Rat, n), NewWanted: make([]*big.Rat, n), Old: make([]*big.Rat, n), New: make([]*big.Rat, n)})
		}
		return &x.out.Totals[i]
	}
	each := func(visit func(column int, c *Conversion, size int, now bool)) {
		for i, s := range x.out.Sizes {
			if s.New >= 0 {
				visit(i, x.new, s.New, true)
			}
			if s.Old >= 0 {
				visit(i, x.old, s.Old, false)
			}
		}
	}
	each(func(i int, c *Conversion, size int, now bool) {
		all, fits := totalsOf(c, size)
		for k, g := range all {
			fits = fits && k == 0
			t := entry(g.Name, g.Unit)
			widest[grammar.Key(g.Name)] = g.Untied
			t.Fits = t.Fits || fits
			switch {
			case g.Untied:
				x.untiedTotal(t, i, g.Gets, now)
			case now:
				t.NewWanted[i], t.New[i] = g.Wanted, g.Gets
			default:
				t.OldWanted[i], t.Old[i] = g.Wanted, g.Gets
			}
		}
	})
	// The widest count of a piece that no measurement is for stands for the piece where it does so in both versions.
	x.out.Totals = slices.DeleteFunc(x.out.Totals, func(t Total) bool {
		return widest[grammar.Key(t.Name)] && (none(t.Old) || none(t.New))
	})
	at = map[string]int{}
	each(func(i int, c *Conversion, size int, now bool) {
		names, high, _ := c.work(size).heights()
		for _, p := range names {
			if high[p].Sign() == 0 {
				continue
			}
			name := "height"
			if p != "" {
				name = p + ", height"
			}
			x.untiedTotal(entry(name, c.Draft.Unit()), i, high[p], now)
		}
	})
}

// untiedTotal enters a measure that nothing is tied to: of a conversion in a drafted size it should be as drafted.
func (x *comparer) untiedTotal(t *Total, column int, cm *big.Rat, now bool) {
	if now {
		t.New[column] = cm
		return
	}
	if t.Old[column] = cm; x.converted() && asDraftedSize(x.new.Targets[x.out.Sizes[column].New]) {
		t.NewWanted[column] = cm
	}
}

func none(x []*big.Rat) bool {
	return !slices.ContainsFunc(x, func(v *big.Rat) bool { return v != nil })
}

// withoutSizes is an expression as it is written without what it says for each further size, `20 cm` for `20 (21, 22) cm`: by that
// it is found again where a size was added.
func withoutSizes(s string) string {
	var b strings.Builder
	for {
		i := strings.IndexAny(s, "([")
		if i < 0 {
			return b.String() + s
		}
		n := strings.IndexAny(s[i:], ")]")
		if n < 0 {
			return b.String() + s
		}
		if strings.Trim(s[i+1:i+n], "0123456789½¼¾⅓⅔⅛⅜⅝⅞/., :;") != "" {
			n = 0
			b.WriteString(s[:i+1])
		} else {
			b.WriteString(strings.TrimRight(s[:i], " "))
		}
		s = s[i+n+1:]
	}
}

// totalsOf is what is asked for of a size and what it comes to; fits says whether the first of them is the measure of the body that
// it fits.
func totalsOf(c *Conversion, size int) (all []Got, fits bool) {
	return wishesOf(c, size, false).gets(func(x *wish) (dsl.Fraction, bool) { return x.here, true })
}

func (x *comparer) tally() {
	t := &x.out.Tally
	for _, s := range x.out.Sizes {
		if s.Old < 0 || s.New < 0 || s.Beside != "" && !x.converted() {
			t.Sizes++
		}
	}
	for _, g := range x.out.Gauges {
		if g.Is != Same {
			t.Gauges++
		}
	}
	for _, m := range x.out.Measures {
		if m.Is == Changed || m.Is == Added || m.Is == Dropped || m.Said != "" {
			t.Measures++
		}
	}
	if x.out.Block {
		t.Block = 1
	}
	for _, p := range x.out.Pieces {
		t.Prose += len(p.Prose)
		if p.Moved {
			t.Pieces++
		}
		for i := range p.Marks {
			t.mark(&p.Marks[i])
		}
	}
}

func (t *Tally) mark(m *MarkPair) {
	switch m.Is {
	case Added:
		t.Added++
		return
	case Dropped:
		t.Dropped++
		return
	}
	if m.Moved {
		t.Moved++
	}
	if m.Renamed() {
		t.Renamed++
	}
	if m.Reworded {
		t.Reworded++
	}
	if m.WasTied != m.Tied {
		t.Ties++
	}
	for _, n := range m.Numbers {
		t.Numbers++
		switch n.Is {
		case Changed, Added, Dropped:
			t.Changed++
		case Extended:
			t.Extended++
		}
	}
}

// listed is a text for each size in a draft's layout, or one where all are alike; what is "" is left out of the comparison and
// written as a dash.
func listed(texts []string, style grammar.ListStyle) string {
	first, same := "", true
	for _, s := range texts {
		switch {
		case s == "":
		case first == "":
			first = s
		default:
			same = same && s == first
		}
	}
	if same {
		return first
	}
	texts = slices.Clone(texts)
	for i := range texts {
		if texts[i] == "" {
			texts[i] = "–"
		}
	}
	if style.Open == "" {
		style = grammar.ListStyle{Open: "(", Close: ")", Gap: " ", Sep: ", "}
	}
	return texts[0] + style.Gap + style.Open + strings.Join(texts[1:], style.Sep) + style.Close
}
