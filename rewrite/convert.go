package rewrite

import (
	"fmt"
	"math/big"
	"sort"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite/whole"
)

// solved is one size of the result.
type solved struct {
	target  dsl.Target
	run     *dsl.Run
	model   *model
	values  []int64
	answer  []int64        // of the problem's unknowns
	wanted  []dsl.Fraction // a score: the size wished for, in centimetres
	length  []*big.Rat     // a length rule: the length wished for
	given   []*dsl.Relation
	changed []bool     // groups
	depart  []*big.Rat // a score: the draft's own departure, nil where it aims at the measurement
	index   *index
	proven  bool
	nodes   int
	// undecided says that the search was given up without values.
	undecided bool
	parted    map[*dsl.Relation]bool // seams that could not be kept
}

type converter struct {
	d       *dsl.Draft
	r       Request
	c       *Conversion
	old     []dsl.Gauge
	now     []dsl.Gauge
	diags   grammar.Diagnostics
	lengths []map[int]wishedLength // a target: what its lengths wish for, by quantity
	fresh   bool                   // sizes of the result are not the drafted ones
	budget  int                    // nodes of search for each part of a size
	// swatches are those whose gauges are asked for, one a fabric, nil where another gauge was; none at all without a card.
	swatches []*dsl.Swatch
	// done says of a marked instruction whether it is knitted already; nil where nothing is.
	done func(mark int) bool
	// base is the draft as it was read, given the gauges asked for, of its fabrics alone; knitAt those of what is knitted already
	// where it has its own.
	base          *dsl.Draft
	given, knitAt []dsl.Gauge
	sewn          []sewn
	retries       int // left for places to go back to
	gaveUp        bool
}

func (c *converter) fail(at grammar.Span, wayOut, format string, args ...any) {
	c.diags = append(c.diags, grammar.Diagnostic{Severity: grammar.Error, Span: at, Summary: fmt.Sprintf(format, args...), WayOut: wayOut})
}

func (c *converter) warn(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	for _, w := range c.c.Warnings {
		if w == s {
			return
		}
	}
	c.c.Warnings = append(c.c.Warnings, s)
}

func (c *converter) assume(format string, args ...any) {
	s := fmt.Sprintf(format, args...)
	for _, w := range c.c.Assumptions {
		if w == s {
			return
		}
	}
	c.c.Assumptions = append(c.c.Assumptions, s)
}

// convert is the whole way: gauges and sizes, whole numbers size by size, then words.
func convert(d *dsl.Draft, r Request) (*Conversion, grammar.Diagnostics) {
	c := &converter{d: d, base: d, r: r, c: &Conversion{Draft: d, Proven: true}, budget: whole.Budget}
	c.old = d.DraftedGauges()
	if !c.gauges() || !c.targets() || !c.pinsKnown() {
		return nil, c.diags
	}
	c.washing()
	if !c.ownGauges() || !c.knit() {
		return nil, c.diags
	}
	c.wishLengths()
	if !c.sizesSolved() {
		return nil, c.diags
	}
	c.measures()
	c.words()
	if c.diags.Has(grammar.Error) {
		return nil, c.diags
	}
	c.halfWay()
	if !c.seconds() {
		return nil, c.diags
	}
	c.soften()
	c.meet()
	c.missed()
	c.takenUp()
	c.motifs()
	c.left()
	c.grading()
	c.cautions()
	return c.c, c.diags
}

// gauges settles the gauge of every fabric. A fabric that was not swatched changes by the ratio of the main one; rows that
// are not known keep the draft's ratio of rows to stitches. Both are assumptions.
func (c *converter) gauges() bool {
	d := c.d
	c.now = append([]dsl.Gauge(nil), c.old...)
	asked := make([]*AskedGauge, len(d.Fabrics))
	for i := range c.r.Gauges {
		a := &c.r.Gauges[i]
		if a.Piece != "" {
			continue
		}
		f := -1
		if a.Fabric == "" {
			f = 0
		}
		for k, x := range d.Fabrics {
			if grammar.Key(x.Name) == grammar.Key(a.Fabric) {
				f = k
			}
		}
		if f < 0 {
			var names []string
			for _, x := range d.Fabrics {
				names = append(names, x.Name)
			}
			way := "the draft's fabrics are " + strings.Join(names, ", ")
			if best := grammar.Nearest(grammar.Key(a.Fabric), names); best != "" {
				way = "did you mean " + best + "?"
			}
			c.fail(d.Fabrics[0].Def.Span, way, "a gauge is given for %s, but the draft has no fabric of that name", a.Fabric)
			return false
		}
		if asked[f] != nil {
			c.fail(d.Fabrics[f].Def.Span, "give one", "two gauges are given for %s", d.Fabrics[f].Name)
			return false
		}
		asked[f] = a
	}
	var by *dsl.Gauge // ratios of the fabric that was swatched
	from := ""
	for i, a := range asked {
		if a == nil {
			continue
		}
		g := a.Gauge
		if a.Swatch != nil {
			if c.swatches == nil {
				c.swatches = make([]*dsl.Swatch, len(d.Fabrics))
			}
			c.swatches[i] = a.Swatch
			g.Stitches = hundredth(g.Stitches, c.over(i))
			if g.Rows != nil {
				g.Rows = hundredth(g.Rows, c.over(i))
			}
			if hang := a.Swatch.Hang(); hang != nil && g.Rows != nil {
				g.Rows = hundredth(new(big.Rat).Quo(g.Rows, hang), c.over(i))
			}
			if a.Swatch.Washed == nil {
				c.assume("The swatch of %s was not measured after washing: its gauge is taken to stay as it is.", d.Fabrics[i].Name)
			}
		}
		if g.Rows == nil {
			g.Rows = hundredth(new(big.Rat).Mul(c.old[i].Rows, new(big.Rat).Quo(g.Stitches, c.old[i].Stitches)), c.over(i))
			c.assume("The row gauge of %s was not given: it keeps the draft's ratio of rows to stitches, %s to 10 cm.", d.Fabrics[i].Name, decimal(new(big.Rat).Mul(g.Rows, big.NewRat(10, 1)), 2))
		}
		c.now[i] = g
		if by == nil {
			by = &dsl.Gauge{Stitches: new(big.Rat).Quo(g.Stitches, c.old[i].Stitches), Rows: new(big.Rat).Quo(g.Rows, c.old[i].Rows)}
			from = d.Fabrics[i].Name
		}
	}
	tighter, ok := c.tighter(asked)
	if !ok {
		return false
	}
	hang := c.hanging(asked)
	for i, f := range d.Fabrics {
		ch := GaugeChange{Hang: hang[i], Fabric: f.Name, From: c.old[i], Over: c.over(i), Rounds: f.Rounds}
		if t := tighter[i]; t != nil {
			more := new(big.Rat).Add(big.NewRat(1, 1), t.By)
			c.now[i] = dsl.Gauge{
				Stitches: hundredth(new(big.Rat).Mul(c.now[0].Stitches, more), c.over(i)),
				Rows:     hundredth(new(big.Rat).Mul(c.now[0].Rows, more), c.over(i)),
			}
			ch.Assumed = true
			c.assume("The fabric %s was not swatched: it is allowed for as %s %% tighter than %s, %s.", f.Name, decimal(new(big.Rat).Mul(t.By, big.NewRat(100, 1)), 2), d.Fabrics[0].Name, c.gaugeText(i))
		} else if asked[i] == nil && by != nil {
			c.now[i] = dsl.Gauge{
				Stitches: hundredth(new(big.Rat).Mul(c.old[i].Stitches, by.Stitches), c.over(i)),
				Rows:     hundredth(new(big.Rat).Mul(c.old[i].Rows, by.Rows), c.over(i)),
			}
			if !c.now[i].Same(c.old[i]) {
				ch.Assumed = true
				c.assume("The fabric %s was not swatched: it is taken to change as %s does, to %s.", f.Name, from, c.gaugeText(i))
			}
		}
		ch.To = c.now[i]
		c.c.Gauges = append(c.c.Gauges, ch)
	}
	c.c.Fabrics = c.now
	return true
}

// tighter finds the fabric of each place that is to come out tighter; one whose gauge was given needs no allowance.
func (c *converter) tighter(asked []*AskedGauge) ([]*Tighter, bool) {
	out := make([]*Tighter, len(c.d.Fabrics))
	for i := range c.r.Tighter {
		t := &c.r.Tighter[i]
		f := -1
		var names []string
		for k, x := range c.d.Fabrics {
			if k > 0 {
				names = append(names, x.Name)
			}
			if grammar.Key(x.Name) == grammar.Key(t.Fabric) {
				f = k
			}
		}
		def := c.d.Fabrics[max(f, 0)].Def.Span
		switch {
		case f < 0:
			way := "its pieces are drafted in one fabric: draft the place in a fabric of its own, `fabric sleeve: …`"
			if len(names) > 0 {
				way = "one of " + strings.Join(names, ", ")
			}
			c.fail(def, way, "the draft has no fabric called %s to come out tighter", t.Fabric)
		case f == 0:
			c.fail(def, "name the place that is tighter", "%s is the fabric that others are tighter than", c.d.Fabrics[0].Name)
		case asked[f] != nil:
			c.fail(def, "leave one of them out", "a gauge is given for %s, so it needs no allowance", c.d.Fabrics[f].Name)
		case out[f] != nil:
			c.fail(def, "give it once", "two allowances are given for %s", c.d.Fabrics[f].Name)
		default:
			out[f] = t
			continue
		}
		return nil, false
	}
	return out, true
}

// over is the width a fabric's gauge is stated over, in centimetres.
func (c *converter) over(i int) *big.Rat {
	v := c.d.Fabrics[i].Def.Gauge.Over
	x := new(big.Rat).Set(v.Nums[0].Val)
	switch v.Unit {
	case grammar.Inches:
		x.Mul(x, big.NewRat(254, 100))
	case grammar.Millimetres:
		x.Quo(x, big.NewRat(10, 1))
	}
	return x
}

// hundredth rounds a gauge so that its number over the width the draft states it over has two decimals at most: it is
// written so, and what is written is what is worked with.
func hundredth(perCm, over *big.Rat) *big.Rat {
	n := dsl.RoundTo(new(big.Rat).Mul(perCm, over), big.NewRat(1, 100))
	if n.Sign() == 0 {
		n = big.NewRat(1, 100)
	}
	return n.Quo(n, over)
}

func (c *converter) gaugeText(i int) string {
	rows := "rows"
	if c.d.Fabrics[i].Rounds {
		rows = "rounds"
	}
	v := c.d.Fabrics[i].Def.Gauge.Over
	o := c.over(i)
	return fmt.Sprintf("%s sts and %s %s to %s", decimal(new(big.Rat).Mul(c.now[i].Stitches, o), 2), decimal(new(big.Rat).Mul(c.now[i].Rows, o), 2), rows,
		strings.TrimSpace(c.d.File.Text(v.Span)))
}

// decimal is x with at most so many decimals, without trailing zeros.
func decimal(x *big.Rat, places int) string {
	if x.IsInt() {
		return x.Num().String()
	}
	s := x.FloatString(places)
	s = strings.TrimRight(s, "0")
	return strings.TrimSuffix(s, ".")
}

// targets settles the sizes of the result.
func (c *converter) targets() bool {
	d := c.d
	var picked []int
	for _, name := range c.r.Sizes {
		found := -1
		for s, n := range d.Sizes {
			if grammar.Key(n) == grammar.Key(name) {
				found = s
			}
		}
		if found < 0 {
			c.fail(c.sizesSpan(), "the sizes are "+strings.Join(d.Sizes, ", "), "the draft has no size %s", name)
			return false
		}
		picked = append(picked, found)
	}
	if len(c.r.Measures) == 0 {
		if len(picked) == 0 {
			for s := range d.Sizes {
				picked = append(picked, s)
			}
		}
		// The draft's own order, each once.
		for s := range d.Sizes {
			for _, p := range picked {
				if p == s {
					c.c.Targets = append(c.c.Targets, d.DraftedSize(s))
					break
				}
			}
		}
		c.fresh = len(c.c.Targets) != len(d.Sizes)
		return true
	}
	return c.wearer(picked)
}

func (c *converter) sizesSpan() grammar.Span {
	if c.d.Block.Sizes != nil {
		return c.d.Block.Sizes.Span
	}
	return c.d.Block.Span
}

// wearer places a wearer's measurements among the drafted sizes: by the sizing measure, in a straight line between its two
// neighbours, and beyond the last pair by the same line, with a warning.
func (c *converter) wearer(picked []int) bool {
	d := c.d
	known := map[string]bool{}
	var names []string
	for _, m := range d.Measures {
		known[m.Name.Key] = true
		names = append(names, m.Name.Text)
	}
	var unknown []string
	for k := range c.r.Measures {
		if !known[k] {
			unknown = append(unknown, k)
		}
	}
	if len(unknown) > 0 {
		sort.Strings(unknown)
		have := "the draft has no measures at all"
		if len(names) > 0 {
			have = "its measures are " + strings.Join(names, ", ")
		}
		c.fail(d.Block.Span, have, "the draft has no measure called %s", strings.Join(unknown, ", "))
		return false
	}
	t := dsl.Target{Name: c.r.Wearer, Replace: c.r.Measures, T: new(big.Rat)}
	if t.Name == "" {
		t.Name = "yours"
	}
	by := d.Measures[d.SizedBy]
	x, given := c.r.Measures[by.Name.Key]
	switch {
	case len(picked) > 1:
		c.fail(c.sizesSpan(), "give one --size, or none", "a wearer has one size, and %d were asked for", len(picked))
		return false
	case len(picked) == 1:
		t.Lo, t.Hi = picked[0], picked[0]
		if c.r.Wearer == "" {
			t.Name = d.Sizes[picked[0]]
		}
	case len(d.Sizes) == 1:
		if c.r.Wearer == "" && d.Sizes[0] != "" {
			t.Name = d.Sizes[0]
		}
	case !given:
		c.fail(by.Def.Span, fmt.Sprintf("give %s too, or say which size to begin from with --size", by.Name.Text),
			"these measurements do not say where the wearer lies between the sizes: those are chosen by %s", by.Name.Text)
		return false
	default:
		if !c.between(&t, x) {
			return false
		}
	}
	c.c.Targets = []dsl.Target{t}
	c.fresh = true
	return true
}

func (c *converter) between(t *dsl.Target, x *big.Rat) bool {
	d := c.d
	at := make([]*big.Rat, len(d.Sizes))
	for s := range d.Sizes {
		v, err := d.MeasureAt(d.SizedBy, d.DraftedSize(s), c.old)
		if err != nil {
			c.fail(d.Block.Span, "", "%s", err)
			return false
		}
		at[s] = v
	}
	for s := 1; s < len(at); s++ {
		if at[s].Cmp(at[s-1]) <= 0 {
			c.fail(d.Measures[d.SizedBy].Def.Span, "say `sized by` a measure that grows from size to size, or give --size", "%s does not grow from size to size, so a wearer cannot be placed between them", d.Measures[d.SizedBy].Name.Text)
			return false
		}
	}
	n := len(at)
	hi := 1
	for hi < n-1 && x.Cmp(at[hi]) > 0 {
		hi++
	}
	t.Lo, t.Hi = hi-1, hi
	gap := new(big.Rat).Sub(at[hi], at[hi-1])
	t.T = new(big.Rat).Quo(new(big.Rat).Sub(x, at[hi-1]), gap)
	for _, s := range []int{hi - 1, hi} {
		if at[s].Cmp(x) == 0 {
			t.Lo, t.Hi, t.T = s, s, new(big.Rat)
		}
	}
	if x.Cmp(at[0]) < 0 || x.Cmp(at[n-1]) > 0 {
		c.warn("%s of %s lies outside the drafted sizes (%s to %s): what is not tied to a measurement is drawn out beyond them in a straight line. Look through it with care.",
			d.Measures[d.SizedBy].Name.Text, dsl.CmText(x, d.Unit()), dsl.CmText(at[0], d.Unit()), dsl.CmText(at[n-1], d.Unit()))
		limit := big.NewRat(3, 1)
		if t.T.Cmp(limit) > 0 || t.T.Cmp(new(big.Rat).Neg(limit)) < 0 {
			c.fail(d.Measures[d.SizedBy].Def.Span, "choose a pattern drafted for this size", "%s of %s is too far from the drafted sizes to draw them out to it", d.Measures[d.SizedBy].Name.Text, dsl.CmText(x, d.Unit()))
			return false
		}
	}
	return true
}

// pinsKnown checks the pins against the draft's names.
func (c *converter) pinsKnown() bool {
	for _, p := range c.r.Pins {
		q := c.named(p.Name)
		if q == nil {
			names := c.names()
			way := "the named numbers are " + strings.Join(names, ", ")
			if best := grammar.Nearest(grammar.Key(p.Name), names); best != "" {
				way = "did you mean " + best + "?"
			}
			if len(names) == 0 {
				way = "name one in the draft with `as NAME`"
			}
			c.fail(c.d.Block.Span, way, "%s cannot be pinned: no number of the draft is called that", p.Name)
			return false
		}
		if q.Kind == dsl.Length || q.Kind == dsl.Yarn {
			c.fail(c.d.File.Marks[q.Mark].Span, "pin a count of stitches or rows", "%s is a length, which the measurements decide", p.Name)
			return false
		}
		if n := len(p.Value); n != 1 && n != len(c.c.Targets) {
			c.fail(c.d.File.Marks[q.Mark].Span, "give one number, or one for each size", "%d values are pinned for %d sizes", n, len(c.c.Targets))
			return false
		}
	}
	if c.r.Knitted != "" {
		label, ok := c.labelMark()
		if !ok {
			names := c.labels()
			way := "the labels are " + strings.Join(names, ", ")
			if best := grammar.Nearest(grammar.Key(c.r.Knitted), names); best != "" {
				way = "did you mean " + best + "?"
			} else if len(names) == 0 {
				way = "write `| as NAME` into the brace of the first instruction that is not knitted yet, and give that name, or give the heading of the piece that comes next"
			}
			c.fail(c.d.Block.Span, way, "the draft has no label %s to have knitted to", c.r.Knitted)
			return false
		}
		if !c.begunBefore(label) {
			way := "leave --knitted out, or name what comes next on the needles, by its label or its heading"
			if later := c.later(label); len(later) > 0 {
				way += ": " + strings.Join(later, ", ")
			}
			c.fail(c.d.File.Marks[label].Span, way, "nothing is knitted before %s, where the work begins", c.r.Knitted)
			return false
		}
	}
	return true
}

func (c *converter) named(name string) *dsl.Quantity {
	for _, q := range c.d.Quantities {
		if q.Name != "" && grammar.Key(q.Name) == grammar.Key(name) {
			return q
		}
	}
	return nil
}

func (c *converter) names() []string {
	var out []string
	for _, q := range c.d.Quantities {
		if q.Name != "" && q.Kind != dsl.Length {
			out = append(out, q.Name)
		}
	}
	return out
}

func (c *converter) labels() []string {
	var out []string
	for _, m := range c.d.File.Marks {
		for _, name := range m.Labels() {
			out = append(out, name.Text)
		}
	}
	return out
}

// labelMark is the first instruction that is not knitted yet: the one of that name, or the first under that heading.
func (c *converter) labelMark() (int, bool) {
	i := c.d.Labelled(c.r.Knitted)
	return max(i, 0), i >= 0
}

// later is the labels and headings that something is knitted before, from a marked instruction on.
func (c *converter) later(from int) []string {
	var out []string
	heading := -1
	for i := from; i < len(c.d.File.Marks); i++ {
		m := c.d.File.Marks[i]
		if !c.begunBefore(i) {
			heading = m.Heading
			continue
		}
		if m.Heading != heading && m.Heading >= 0 {
			heading = m.Heading
			out = append(out, c.d.File.Headings[heading].Text)
		}
		for _, name := range m.Labels() {
			out = append(out, name.Text)
		}
	}
	return out
}

// begunBefore says whether any work is begun before a marked instruction.
func (c *converter) begunBefore(mark int) bool {
	for _, m := range c.d.File.Marks[:mark] {
		switch m.Phrase.(type) {
		case *grammar.CastOn, *grammar.PickUp:
			return true
		}
	}
	return false
}

// sizesSolved solves the sizes of the result, which have nothing to do with one another, side by side. What is said of them comes
// in their order.
func (c *converter) sizesSolved() bool {
	n := len(c.c.Targets)
	c.c.solved = make([]*solved, n)
	bad := make([]*grammar.Diagnostic, n)
	dsl.SideBySide(n, func(i int) { c.c.solved[i], bad[i] = c.size(i) })
	for i, t := range c.c.Targets {
		if bad[i] != nil {
			c.nothingFits(i, bad[i])
			if n > 1 || t.Name != "" {
				bad[i].Summary += ", in size " + t.Name
			}
			c.diags = append(c.diags, *bad[i])
			return false
		}
		s := c.c.solved[i]
		c.c.values = append(c.c.values, s.values)
		c.c.Nodes += s.nodes
		c.c.Proven = c.c.Proven && s.proven
		if !s.proven {
			c.warn("Not every number of size %s is proven to be the best: the best found is given.", t.Name)
		}
	}
	return true
}

// size solves one size of the result. It may run beside others.
func (c *converter) size(target int) (*solved, *grammar.Diagnostic) {
	t := c.c.Targets[target]
	run := c.d.Runs[t.Base()]
	p := groundOf(c.d, t.Base())
	f := p.frame
	if c.done != nil {
		f = newFrame(c.d, run, func(q *dsl.Quantity) bool { return c.done(q.Mark) })
	}
	s := &solved{target: t, run: run, index: p.index, changed: make([]bool, len(f.group)),
		wanted: make([]dsl.Fraction, len(run.Scores)), length: make([]*big.Rat, len(run.Lengths)), depart: make([]*big.Rat, len(run.Scores))}
	moved := make([]bool, len(run.Scores))
	if bad := c.wishScores(s, f, moved); bad != nil {
		return nil, bad
	}
	for i := range run.Lengths {
		l := &run.Lengths[i]
		w := c.lengths[target][l.Length]
		s.length[i] = w.cm
		did := w.moved || !c.sameRows(l.Fabric)
		for _, h := range l.Before {
			did = did || !c.sameRows(h.Fabric)
		}
		if g := f.lengths[i].group; g >= 0 && did {
			s.changed[g] = true
		}
	}
	for i := range run.Matches {
		if q := run.Matches[i].Rows; f.varOf[q] >= 0 {
			s.changed[f.group[q]] = true
		}
	}
	for i := range run.Pickups {
		if g := f.pickups[i]; g >= 0 && !c.now[run.Pickups[i].Fabric].Same(c.old[run.Pickups[i].Fabric]) {
			s.changed[g] = true
		}
	}
	pins, bad := c.pinned(s, f, target)
	if bad != nil {
		return nil, bad
	}
	if t.Lo != t.Hi && t.T.Sign() != 0 {
		for _, q := range f.vars {
			s.changed[f.group[q]] = true
		}
	}
	if bad := c.departures(s, moved); bad != nil {
		return nil, bad
	}
	w := wishes{gauges: c.now, score: func(i int) dsl.Fraction { return s.wanted[i] }, length: func(i int) *big.Rat { return s.length[i] },
		ratio: c.pickRatio, changed: func(g int) bool { return s.changed[g] }, pins: pins, parted: map[*dsl.Relation]bool{}}
	var out *outcome
	for {
		m, err := f.build(w)
		if err != nil {
			return nil, &grammar.Diagnostic{Severity: grammar.Error, Span: c.d.Fabrics[0].Def.Span, Summary: err.Error()}
		}
		s.model = m
		out, bad = m.solve(c.budget)
		if bad == nil || len(out.seams) == 0 {
			break
		}
		for _, r := range out.seams {
			w.parted[r] = true // the draft itself asks for more than its seams do
		}
	}
	s.parted = w.parted
	if s.undecided = out.undecided; bad != nil {
		return s, bad
	}
	s.values, s.given, s.answer, s.proven = out.values, out.given, out.x, out.proven
	s.nodes += out.nodes
	return s, nil
}

// pinned is the numbers that are pinned in a target, by quantity.
func (c *converter) pinned(s *solved, f *frame, target int) (map[int]int64, *grammar.Diagnostic) {
	pins := map[int]int64{}
	for _, p := range c.r.Pins {
		q := c.named(p.Name)
		n := p.Value[0]
		if len(p.Value) > 1 {
			n = p.Value[target]
		}
		if f.varOf[q.ID] < 0 {
			if f.values[q.ID] != n {
				return nil, &grammar.Diagnostic{Severity: grammar.Error, Span: c.d.File.Marks[q.Mark].Span, Summary: fmt.Sprintf("%s is pinned to %d, but the draft fixes it at %d", p.Name, n, f.values[q.ID])}
			}
			continue
		}
		pins[q.ID] = n
		if f.values[q.ID] != n {
			s.changed[f.group[q.ID]] = true
		}
	}
	return pins, nil
}

func (c *converter) sameRows(f int) bool { return same(c.now[f].Rows, c.old[f].Rows) }

// wishScores finds the size wished for of every score: its drafted size as long as neither the value of its tie nor the gauge it
// is measured by has changed; else the tied size; else the drafted size. moved says which are not as drafted.
func (c *converter) wishScores(s *solved, f *frame, moved []bool) *grammar.Diagnostic {
	t := s.target
	lo, hi := groundOf(c.d, t.Lo), groundOf(c.d, t.Hi)
	eval := c.d.Evaluator(t, c.now)
	other := make([]bool, len(c.d.Fabrics)) // fabrics whose stitches are another size now
	for i := range other {
		other[i] = !same(c.now[i].Stitches, c.old[i].Stitches)
	}
	for i := range s.run.Scores {
		sc := &s.run.Scores[i]
		var drafted dsl.Fraction
		if t.Lo == t.Hi {
			drafted = lo.drafted[i]
		} else {
			// The run is that of the nearer size: the other may have fewer scores.
			drafted = betweenSizes(t, lo.size(sc), hi.size(sc))
		}
		gauge := other[sc.Fabric]
		if sc.Rows {
			gauge = !c.sameRows(sc.Fabric)
		} else {
			for _, p := range sc.Panels {
				gauge = gauge || other[p.Fabric]
			}
		}
		s.wanted[i], moved[i] = drafted, gauge
		if sc.Tie >= 0 {
			tied, err := tieOf(c.d, sc, eval)
			if err == nil && t.Lo == t.Hi {
				err = lo.noTie[i]
			}
			if err != nil {
				return c.unknown(sc, err)
			}
			if t.Lo != t.Hi || gauge || tied.Cmp(lo.tied[i]) != 0 {
				s.wanted[i], moved[i] = tied, true
			}
		}
		if g := f.scores[i].group; g >= 0 && moved[i] {
			s.changed[g] = true
		}
	}
	return nil
}

// unknown is the report of a tie that has no value.
func (c *converter) unknown(sc *dsl.Score, err error) *grammar.Diagnostic {
	return &grammar.Diagnostic{Severity: grammar.Error, Span: c.d.File.Marks[sc.Mark].Span, Summary: err.Error()}
}

func betweenSizes(t dsl.Target, lo, hi dsl.Fraction) dsl.Fraction {
	return dsl.FractionFrom(t.Between(lo.Rat(), hi.Rat()))
}

// departures finds the draft's own: the draft is solved at its own gauge first, and a tied count that the derivation would
// not have chosen itself was meant; it aims as far over or under in the new gauge.
func (c *converter) departures(s *solved, moved []bool) *grammar.Diagnostic {
	t := s.target
	sizes := []int{t.Lo, t.Hi}
	if t.Lo == t.Hi {
		sizes = sizes[:1]
	}
	asked := make([]bool, len(sizes))
	for i := range s.run.Scores {
		sc := &s.run.Scores[i]
		if sc.Tie < 0 || !moved[i] {
			continue
		}
		var off [2]dsl.Fraction
		for k, size := range sizes {
			x, err := c.departure(s.run, i, size)
			if err != nil {
				return c.unknown(sc, err)
			}
			off[k], asked[k] = x.off, asked[k] || x.own != nil
		}
		by := off[0]
		if len(sizes) == 2 {
			by = betweenSizes(t, off[0], off[1])
		}
		if by.Sign() != 0 {
			s.wanted[i] = s.wanted[i].Plus(by)
			s.depart[i] = by.Rat()
		}
	}
	for k, size := range sizes {
		if asked[k] {
			s.nodes += groundOf(c.d, size).own().nodes
		}
	}
	return nil
}

// departing is how far a draft departs from a measurement in one of its tied counts.
type departing struct {
	drafted, tied dsl.Fraction // what it measures, and what is asked for, in centimetres
	off           dsl.Fraction // how far the first lies over the second where the derivation would have chosen another, else 0
	own           *outcome     // what the derivation chose at the draft's own gauge, nil where it was not asked
}

// departure is that of the tied score number i of a run, at a drafted size.
func (c *converter) departure(run *dsl.Run, i, size int) (x departing, err error) {
	p, sc := groundOf(c.d, size), &run.Scores[i]
	if x.drafted, x.tied, err = p.score(run, i); err != nil {
		return x, err
	}
	off := x.drafted.Minus(x.tied)
	if off.Sign() == 0 || p.plain {
		return x, nil
	}
	// A draft that cannot be solved at its own gauge departs as it stands.
	if x.own = p.own(); x.own == nil || sc.Expr.At(x.own.at) != sc.Expr.At(p.at) {
		x.off = off
	}
	return x, nil
}

func ratioDrafted(d *dsl.Draft, p *dsl.Pickup, size int) (sts, rows int64) {
	one := func(v *grammar.Value) int64 {
		if q, ok := d.Of(v); ok {
			return max(1, q.Drafted[size])
		}
		return 1
	}
	return one(p.Sts), one(p.PerRows)
}

// pickRatio is the ratio of stitches picked up to rows, re-derived from the two gauges with small numbers: of the fractions
// with at most eight rows the simplest that is within a fiftieth, else the nearest.
func (c *converter) pickRatio(p *dsl.Pickup) (int64, int64) {
	a, b := ratioDrafted(c.d, p, c.c.Targets[0].Base())
	f := p.Fabric
	if c.done != nil && c.done(p.Mark) {
		return a, b // picked up already
	}
	if c.now[f].Same(c.old[f]) {
		return a, b
	}
	// The share of a row's height that a stitch is wide, drafted and now.
	was := new(big.Rat).Quo(c.old[f].Stitches, c.old[f].Rows)
	is := new(big.Rat).Quo(c.now[f].Stitches, c.now[f].Rows)
	want := new(big.Rat).Mul(big.NewRat(a, b), new(big.Rat).Quo(is, was))
	bestN, bestD := int64(1), int64(1)
	var best *big.Rat
	for d := int64(1); d <= 8; d++ {
		n := dsl.RoundTo(new(big.Rat).Mul(want, new(big.Rat).SetInt64(d)), big.NewRat(1, 1)).Num().Int64()
		if n < 1 {
			continue
		}
		off := new(big.Rat).Sub(big.NewRat(n, d), want)
		off.Abs(off)
		if new(big.Rat).Quo(off, want).Cmp(big.NewRat(1, 50)) <= 0 {
			return n, d
		}
		if best == nil || off.Cmp(best) < 0 {
			best, bestN, bestD = off, n, d
		}
	}
	return bestN, bestD
}

// wishedLength is a length wished for, in centimetres, and whether it is another than the draft states.
type wishedLength struct {
	cm    *big.Rat
	moved bool
}

// wishLengths finds the length wished for of every length and target: what the draft states; where its tie has changed, the tied
// length, with the draft's own departure. It is what is printed, so it is read off a tape before it is worked with.
func (c *converter) wishLengths() {
	for _, t := range c.c.Targets {
		of := map[int]wishedLength{}
		sizes := []int{t.Lo, t.Hi}
		if t.Lo == t.Hi {
			sizes = sizes[:1]
		}
		was := make([]func(grammar.Expr) (*dsl.Form, error), len(sizes))
		for i, size := range sizes {
			was[i] = c.d.Evaluator(c.d.DraftedSize(size), c.old)
		}
		now := c.d.Evaluator(t, c.now)
		for _, q := range c.d.Quantities {
			if q.Kind == dsl.Length && !q.Hidden() {
				of[q.ID] = c.lengthWorked(q, t, sizes, was, now)
			}
		}
		for id, w := range of {
			if cm := c.follows(c.d.Quantities[id], t, w.cm); cm != nil {
				of[id] = wishedLength{cm, true}
			}
		}
		c.lengths = append(c.lengths, of)
	}
}

// lengthWorked is one of them: sizes are the target's drafted sizes, at which was evaluates, and now does at the new gauge.
func (c *converter) lengthWorked(q *dsl.Quantity, t dsl.Target, sizes []int, was []func(grammar.Expr) (*dsl.Form, error), now func(grammar.Expr) (*dsl.Form, error)) wishedLength {
	stated, err := c.d.Stated(q, t)
	if err != nil {
		return wishedLength{cm: new(big.Rat)}
	}
	asDrafted := wishedLength{cm: stated}
	unit := q.Value.Unit
	between := t.Lo != t.Hi && t.T.Sign() != 0
	if q.Tie == nil || q.Tie.Kind != dsl.Length {
		if between {
			return wishedLength{tape(stated, unit), true}
		}
		return asDrafted
	}
	tied, err := now(q.Tie.Expr)
	if err != nil {
		return asDrafted
	}
	var off [2]*big.Rat // the draft's own departure at the two sizes
	for i, size := range sizes {
		drafted, err := was[i](q.Tie.Expr)
		if err != nil || !between && same(drafted.Const, tied.Const) {
			return asDrafted
		}
		off[i] = c.lengthDeparture(q, size, was[i])
	}
	if len(sizes) == 2 {
		off[0] = t.Between(off[0], off[1])
	}
	return wishedLength{tape(off[0].Add(tied.Const, off[0]), unit), true}
}

// lengthDeparture is by how much a tied length that a draft states lies over what its tie says at a drafted size; 0 where the two read the
// same on a tape.
func (c *converter) lengthDeparture(q *dsl.Quantity, size int, was func(grammar.Expr) (*dsl.Form, error)) *big.Rat {
	said, errSaid := c.d.Stated(q, c.d.DraftedSize(size))
	drafted, err := was(q.Tie.Expr)
	if err != nil || errSaid != nil || same(tape(drafted.Const, q.Value.Unit), said) || same(drafted.Const, said) {
		return new(big.Rat)
	}
	return new(big.Rat).Sub(said, drafted.Const)
}

// tape is a length as a tape reads it, in centimetres.
func tape(x *big.Rat, u grammar.Unit) *big.Rat { return dsl.RoundTo(x, dsl.TapeStep(u)) }
