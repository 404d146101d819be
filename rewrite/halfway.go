package rewrite

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite/whole"
)

// HalfWay is what becomes of work that is on the needles already: what it measures, what the whole will miss because of it, what
// the rest makes up for, and how far it would have to be ripped back.
type HalfWay struct {
	Label  string
	Mark   int      // the instruction that is next
	MadeUp []MadeUp // in the order of the draft
	Sizes  []Reach  // one a target
}

// MadeUp is an instruction still to come that says something else than it would if the work were begun afresh at the same gauge.
type MadeUp struct {
	Mark         int
	Piece        string
	Text, Afresh string
}

// Reach is how far one size can still come.
type Reach struct {
	Done   []Taken // what is knitted: each named and tied count and each length
	Misses []Taken // of the whole, more than [Allowed], and less far or not at all if the work were begun afresh
	// Back is where to go back to, the nearest to the needles first, each mending more than the one before; the last of all
	// mends everything. With several pieces, those of one come after those of another.
	Back []RipBack
	// GaveUp says that the search for places did not try everything: there may be better ones.
	GaveUp bool
}

// Taken is a measure taken of the work in hand or of the whole.
type Taken struct {
	Got
	Mark  int
	Piece string
	// Means says that nothing is measured by it: a count without a tie in a piece that has others, such as what is bound off at
	// an underarm, serves to reach the measurements and is not missed.
	Means bool
}

// RipBack is the latest place from which some of what is missed in a piece can be had.
type RipBack struct {
	Mark  int
	Piece string
	Says  string  // what the draft says there, in the size that is knitted
	Begin bool    // the piece is begun again
	Undo  int64   // rows to be undone
	More  int64   // rows to be worked on top of what is there; Undo is then 0
	Mends []Taken // what can then be had
	Left  []Taken // of the piece, what is still missed
}

// knit settles what is knitted already and, where that was said, at which gauge.
func (c *converter) knit() bool {
	if c.r.Knitted == "" {
		return true
	}
	label, _ := c.labelMark()
	c.done = func(mark int) bool { return mark < label }
	c.given = c.now
	at := c.old
	switch {
	case len(c.r.KnittedAt) > 0:
		own := &converter{d: c.d, r: Request{Gauges: c.r.KnittedAt}, c: &Conversion{Draft: c.d}, old: c.old}
		if !own.gauges() {
			c.diags = append(c.diags, own.diags...)
			return false
		}
		at = own.now
		for _, s := range own.c.Assumptions {
			c.assume("Of what is knitted: %s", lowerFirst(s))
		}
	case !c.r.KnittedAsDrafted:
		if !slices.EqualFunc(c.now, c.old, dsl.Gauge.Same) {
			c.assume("What is knitted up to %s is taken to have the gauge given now, too, not that of the draft.", c.r.Knitted)
		}
		return true
	}
	if slices.EqualFunc(at, c.now, dsl.Gauge.Same) {
		return true
	}
	c.assume("What is knitted up to %s keeps a gauge of its own, and only what follows has the one given now.", c.r.Knitted)
	c.knitAt = at
	c.apart("knitted already", c.done, at)
	return true
}

// apart gives a place of the work gauges of its own, one for each fabric of the draft.
func (c *converter) apart(name string, in func(mark int) bool, at []dsl.Gauge) {
	d := c.d.Apart(name, in)
	for i := len(c.d.Fabrics); i < len(d.Fabrics); i++ {
		f := d.Fabrics[i]
		c.now = append(c.now, at[f.Of])
		g := c.c.Gauges[f.Of]
		g.Fabric, g.To, g.Assumed = f.Name, at[f.Of], false
		c.c.Gauges = append(c.c.Gauges, g)
	}
	c.d, c.c.Draft, c.old, c.c.Fabrics = d, d, d.DraftedGauges(), c.now
}

// restated is what a length that is knitted already measures, in centimetres, where that reads otherwise on a tape than what is
// said; else nil. It is finer than a tape: it has to mean these rows and no others.
func (c *converter) restated(l *dsl.LengthRule, size int, said *big.Rat) *big.Rat {
	v := func(q int) int64 { return c.d.Quantities[q].Drafted[size] }
	is := l.Before.Cm(v, c.now)
	is.Add(is, new(big.Rat).Quo(rat(v(l.Rows)), c.now[l.Fabric].Rows))
	unit := c.d.Quantities[l.Length].Value.Unit
	if tape(is, unit).Cmp(said) == 0 || c.sameRows(l.Fabric) {
		return nil
	}
	fine := big.NewRat(1, 10)
	if unit == grammar.Inches {
		fine = big.NewRat(1, 8)
	}
	return new(big.Rat).Mul(dsl.RoundTo(new(big.Rat).Quo(is, unitCm(unit)), fine), unitCm(unit))
}

// sewn is a length that follows that of a piece it is sewn to.
type sewn struct {
	mark int
	to   string
}

// follows is the length of what is knitted already that a length still to come has to match, nil where there is none: the same
// height in another piece, which is sewn to it.
func (c *converter) follows(q *dsl.Quantity, t dsl.Target, said *big.Rat) *big.Rat {
	if c.done == nil || c.done(q.Mark) || q.Fixed {
		return nil
	}
	run := c.d.Runs[t.Base()]
	for i := range run.Lengths {
		l := &run.Lengths[i]
		if !c.done(l.Mark) || !c.alongside(q, l, run) {
			continue
		}
		if cm := c.restated(l, run.Size, said); cm != nil {
			c.sewn = append(c.sewn, sewn{q.Mark, pieceOf(c.d, l.Mark)})
			return cm
		}
	}
	return nil
}

// alongside says whether a length still to come runs up the same seam as one that is knitted: another piece, worked to the same
// height for the same reason, or, flat, without a reason.
func (c *converter) alongside(q *dsl.Quantity, l *dsl.LengthRule, run *dsl.Run) bool {
	a, ok := c.d.File.Marks[q.Mark].Phrase.(*grammar.Work)
	b, also := c.d.File.Marks[l.Mark].Phrase.(*grammar.Work)
	if !ok || !also || !a.To || !b.To || a.Length != q.Value || (a.From == nil) != (b.From == nil) || pieceOf(c.d, q.Mark) == pieceOf(c.d, l.Mark) {
		return false
	}
	other := c.d.Quantities[l.Length]
	if (q.Tie == nil) != (other.Tie == nil) {
		return false
	}
	if q.Tie != nil {
		return fold(c.d.File.Text(q.TieAt)) == fold(c.d.File.Text(other.TieAt))
	}
	for i := range run.Stages {
		if st := &run.Stages[i]; (st.Mark == q.Mark || st.Mark == l.Mark) && !st.Flat {
			return false
		}
	}
	for s := range c.d.Sizes {
		x, errX := c.d.Stated(q, c.d.DraftedSize(s))
		y, errY := c.d.Stated(other, c.d.DraftedSize(s))
		if errX != nil || errY != nil || x.Cmp(y) != 0 {
			return false
		}
	}
	return true
}

// halfWay finds out what becomes of what is knitted. The same work begun afresh tells what the knitted part decides.
func (c *converter) halfWay() {
	if c.r.Knitted == "" {
		return
	}
	slices.SortFunc(c.sewn, func(a, b sewn) int { return a.mark - b.mark })
	for _, s := range c.sewn {
		c.warn("%s follows what %s measures, so that the two can be sewn together: “%s”.", pieceName(pieceOf(c.d, s.mark)), pieceName(s.to),
			c.c.Marks[s.mark].text(fold(c.d.File.Text(c.d.File.Marks[s.mark].PhraseSpan))))
	}
	for i := range c.d.Runs[0].Matches {
		c.matches(i)
	}
	label, _ := c.labelMark()
	h := &HalfWay{Label: c.r.Knitted, Mark: label}
	fresh, _ := convert(c.base, c.begunAfresh())
	if fresh != nil {
		h.MadeUp = c.madeUp(fresh)
	}
	for t := range c.c.solved {
		h.Sizes = append(h.Sizes, c.reach(t, fresh))
	}
	c.c.HalfWay = h
}

// matches tells that a piece which matches one that is knitted at another gauge is as high as that one, in rows of its own.
func (c *converter) matches(i int) {
	var here, there []string
	for _, s := range c.c.solved {
		m := &s.run.Matches[i]
		v := func(q int) int64 { return s.values[q] }
		own, other := v(m.Rows), int64(0)
		for _, h := range m.Before {
			// Rows of the other piece are taken off.
			if n := h.Rows.At(v); n < 0 {
				other -= n
			} else {
				own += n
			}
		}
		here, there = append(here, fmt.Sprint(own)), append(there, fmt.Sprint(other))
	}
	m := &c.d.Runs[0].Matches[i]
	piece := pieceName(pieceOf(c.d, m.From))
	c.warn("%s: %s is knitted at another gauge, so this is worked to the same height, in %s rows from the cast-on where %s has %s.", c.spot(m.Mark), piece, list(here), piece, list(there))
}

// list is one number a size, as the trade lists them.
func list(of []string) string {
	if len(of) == 1 {
		return of[0]
	}
	return of[0] + " (" + strings.Join(of[1:], ", ") + ")"
}

func (c *converter) begunAfresh() Request {
	r := c.r
	r.Knitted, r.KnittedAt, r.KnittedAsDrafted = "", nil, false
	return r
}

// madeUp is the instructions still to come that say something else than they would afresh.
func (c *converter) madeUp(fresh *Conversion) []MadeUp {
	var out []MadeUp
	for i, m := range c.d.File.Marks {
		if c.done(i) || len(c.c.Marks[i].Pieces) == 0 || len(fresh.Marks[i].Pieces) == 0 {
			continue
		}
		switch m.Phrase.(type) {
		case *grammar.CastOn, *grammar.PickUp, *grammar.Work, *grammar.Shape, *grammar.Repeat, *grammar.Evenly, *grammar.BindOff, *grammar.Turn:
		default:
			continue
		}
		source := fold(c.d.File.Text(m.PhraseSpan))
		if now, afresh := c.c.Marks[i].text(source), fresh.Marks[i].text(source); now != afresh {
			out = append(out, MadeUp{i, pieceOf(c.d, i), now, afresh})
		}
	}
	return out
}

// text is an instruction of the result on one line, without the name of its place, which the draft has in a tie.
func (m *MarkText) text(source string) string {
	var s string
	for i, p := range m.Pieces {
		if i > 0 && i == len(m.Pieces)-1 && strings.HasPrefix(p.Text, " (") && !p.Changed && !strings.Contains(source, fold(p.Text)) {
			break
		}
		s += p.Text
	}
	return fold(s)
}

// trial is one size solved with part of the work taken as knitted.
type trial struct {
	c *converter
	s *solved
}

// taken is every measure of a trial: tied and named widths and heights, lengths, and how high each piece is at its highest.
// The same size of the same draft has the same ones in the same order, whatever is knitted.
func (x trial) taken() []Taken {
	c, s := x.c, x.s
	v := func(q int) int64 { return s.values[q] }
	pieces := x.pieces()
	tied := map[string]bool{}
	for i := range s.run.Scores {
		if sc := &s.run.Scores[i]; sc.Tie >= 0 && !sc.Rows {
			tied[pieces[sc.Mark]] = true
		}
	}
	var out []Taken
	asked, askedLengths := askedOf(c.d, s, c.now)
	meant, meantLengths := meantOf(c.base, s)
	for i := range s.run.Scores {
		sc := &s.run.Scores[i]
		name, unit, means := "", c.d.Unit(), false
		if sc.Tie >= 0 {
			e := c.d.Quantities[sc.Tie].Tie.Expr
			name, unit = fold(c.d.File.Text(e.ExprSpan())), unitIn(c.d, e)
		} else if e := sc.Expr; len(e.Terms) == 1 && e.Const == 0 && e.Terms[0].Coef == 1 && c.d.Quantities[e.Terms[0].Quantity].Kind != dsl.Times {
			q := c.d.Quantities[e.Terms[0].Quantity]
			name, means = q.Name, tied[pieces[sc.Mark]] || sc.Rows || q.Role != "cast on"
			if name == "" && !means {
				name = "width cast on"
			}
		}
		if name != "" {
			out = append(out, Taken{Got{Name: name, Unit: unit, Wanted: asked[i].Rat(), Gets: sc.Cm(v, c.now), Meant: meant[i]}, sc.Mark, pieces[sc.Mark], means})
		}
	}
	for i := range s.run.Lengths {
		l := &s.run.Lengths[i]
		q := c.d.Quantities[l.Length]
		name, unit := "“"+fold(c.d.File.Text(c.d.File.Marks[l.Mark].PhraseSpan))+"”", q.Value.Unit
		if q.Tie != nil && q.Tie.Kind == dsl.Length {
			name = fold(c.d.File.Text(q.Tie.Expr.ExprSpan()))
		}
		h := l.Before.Cm(v, c.now)
		out = append(out, Taken{Got{Name: name, Unit: unit, Wanted: askedLengths[i], Gets: h.Add(h, new(big.Rat).Quo(rat(v(l.Rows)), c.now[l.Fabric].Rows)), Meant: meantLengths[i]}, l.Mark, pieces[l.Mark], false})
	}
	return append(out, x.tops()...)
}

// tops is how high each piece is at its highest; nothing is wished for it by itself.
func (x trial) tops() []Taken {
	v := func(q int) int64 { return x.s.values[q] }
	var out []Taken
	at := map[string]int{}
	for k := range x.s.run.Stages {
		st := &x.s.run.Stages[k]
		if st.Piece == "" {
			continue // nothing is left in hand
		}
		h := st.Upto.Cm(v, x.c.now)
		i, known := at[st.Piece]
		if !known {
			i = len(out)
			at[st.Piece] = i
			out = append(out, Taken{Got: Got{Name: "height of " + st.Piece, Unit: x.c.d.Unit(), Gets: h}, Mark: st.Mark, Piece: st.Piece})
		}
		if h.Cmp(out[i].Gets) > 0 {
			out[i].Gets, out[i].Mark = h, st.Mark
		}
	}
	return out
}

// within says whether a measure is as near as it has to be: as near as the work begun afresh comes, and else as near as counts
// as close.
func (x Taken) within(afresh *Taken) bool {
	if x.Means {
		return true
	}
	if x.Near() {
		return true
	}
	if afresh == nil {
		return false
	}
	m, f := x.Off(), afresh.Off()
	return m.Abs(m).Cmp(f.Add(f.Abs(f), big.NewRat(1, 20))) <= 0
}

// judged gives heights what is wanted of them: what was drafted for the size; for a wearer, those of the work begun afresh, and where
// that is not known they are left out.
func judged(taken, afresh []Taken, drafted map[string]*big.Rat) (all []Taken, like []*Taken) {
	for i, x := range taken {
		var f *Taken
		if afresh != nil {
			f = &afresh[i]
		}
		if x.Wanted == nil {
			x.Wanted = drafted[x.Name]
			if x.Wanted == nil && f != nil {
				x.Wanted = f.Gets
			}
			if x.Wanted == nil {
				continue
			}
			if f != nil {
				f = &Taken{Got: Got{Wanted: x.Wanted, Gets: f.Gets}}
			}
		}
		all, like = append(all, x), append(like, f)
	}
	return all, like
}

// asDraftedSize says whether a target is a size as it was drafted, of which heights are wanted that no measurement gives.
func asDraftedSize(t dsl.Target) bool { return t.Lo == t.Hi && len(t.Replace) == 0 }

// draftedHeights is how high each piece was drafted, by the name that tops gives it; nil for a wearer.
func (c *converter) draftedHeights(t int) map[string]*big.Rat {
	target := c.c.Targets[t]
	if !asDraftedSize(target) {
		return nil
	}
	out := map[string]*big.Rat{}
	run := c.base.Runs[target.Base()]
	s := &solved{target: target, run: run, values: make([]int64, len(c.base.Quantities))}
	for i, q := range c.base.Quantities {
		if run.Size < len(q.Drafted) {
			s.values[i] = q.Drafted[run.Size]
		}
	}
	for _, x := range (trial{&converter{d: c.base, now: c.base.DraftedGauges()}, s}).tops() {
		out[x.Name] = x.Gets
	}
	return out
}

// reach tells of one size what is done, what is missed and how far to go back.
func (c *converter) reach(t int, fresh *Conversion) Reach {
	c.retries, c.gaveUp = retries, false
	var afresh []Taken
	if fresh != nil {
		afresh = trial{&converter{d: c.base, base: c.base, now: fresh.Fabrics}, fresh.solved[t]}.taken()
	}
	drafted := c.draftedHeights(t)
	all, like := judged(trial{c, c.c.solved[t]}.taken(), afresh, drafted)
	var r Reach
	missed := make([]bool, len(all))
	for i, x := range all {
		height := x.Name == "height of "+x.Piece
		if c.done(x.Mark) && !height {
			r.Done = append(r.Done, x)
		}
		if missed[i] = !x.within(like[i]); missed[i] {
			r.Misses = append(r.Misses, x)
		}
	}
	if len(r.Misses) > 0 {
		r.Back = c.ripBack(t, search{afresh, drafted, all, missed})
		for i := range r.Back {
			r.Back[i].Says = c.says(c.c.Targets[t].Base(), r.Back[i].Mark)
		}
		r.GaveUp = c.gaveUp
	}
	r.Done, r.Misses = each(r.Done), each(r.Misses)
	return r
}

type saysKey struct{ size int }

// says is what the draft says in a marked instruction to somebody who knits one of its sizes.
func (c *converter) says(size, mark int) string {
	alone := c.base.Keep(saysKey{size}, func() any {
		r := Request{}
		if len(c.base.Sizes) > 1 {
			r.Sizes = []string{c.base.Sizes[size]}
		}
		x, _ := convert(c.base, r)
		return x
	}).(*Conversion)
	said := fold(c.base.File.Text(c.base.File.Marks[mark].PhraseSpan))
	if alone == nil {
		return said
	}
	return alone.Marks[mark].text(said)
}

// each is measures without those that were taken of the same piece before and came to the same, as of a twin.
func each(list []Taken) []Taken {
	var out []Taken
	for _, x := range list {
		if !slices.ContainsFunc(out, func(y Taken) bool {
			return y.Name == x.Name && y.Piece == x.Piece && y.Gets.Cmp(x.Gets) == 0 && y.Wanted.Cmp(x.Wanted) == 0
		}) {
			out = append(out, x)
		}
	}
	return out
}

// search is what a place to go back to is looked for by: the measures if the work were begun afresh, those that it comes to as it
// is, and which of these are missed.
type search struct {
	afresh  []Taken
	drafted map[string]*big.Rat // heights
	was     []Taken
	missed  []bool
}

// in is the search for what is missed in one piece.
func (s search) in(piece string) search {
	missed := make([]bool, len(s.missed))
	for i := range missed {
		missed[i] = s.missed[i] && s.was[i].Piece == piece
	}
	s.missed = missed
	return s
}

// tryBudget is the nodes that are spent on one part of the work for one place to go back to. A part takes some hundreds at the most,
// as a rule; where it takes more, the best found is good enough to know whether the measurements can be had. Where nothing is found,
// it is given as much as a conversion, but only a few times.
const (
	tryBudget = 1000
	retries   = 3
)

// try solves target t with another part of the work taken as knitted. kept is instructions that are gone back to but whose
// rows stay as far as they serve: they have the gauge of what is knitted.
func (c *converter) try(t int, done, kept func(mark int) bool) (trial, bool) {
	x := &converter{d: c.base, base: c.base, r: c.r, old: c.base.DraftedGauges(), now: slices.Clone(c.given), swatches: c.swatches, done: done, budget: tryBudget}
	x.c = &Conversion{Draft: c.base, Targets: c.c.Targets, Gauges: slices.Clone(c.c.Gauges[:len(c.given)]), Fabrics: x.now}
	x.r.Pins = nil
	for _, p := range c.r.Pins {
		if len(p.Value) > 1 {
			p.Value = p.Value[t : t+1]
		}
		x.r.Pins = append(x.r.Pins, p)
	}
	if c.knitAt != nil {
		x.apart("knitted already", func(mark int) bool { return done(mark) || kept(mark) }, c.knitAt)
	}
	x.wishLengths()
	s, bad := x.size(t)
	if bad != nil && s != nil && s.undecided && c.retries > 0 {
		c.retries--
		x.budget = whole.Budget
		s, bad = x.size(t)
	}
	c.gaveUp = c.gaveUp || s != nil && (s.undecided || bad == nil && !s.proven)
	return trial{x, s}, bad == nil
}

// ripBack looks, the nearest to the needles first, for the latest places from which what is missed can be had: in each piece by
// itself where that serves, else in everything that is knitted. Each is proven by solving what would then be left to knit.
func (c *converter) ripBack(t int, s search) []RipBack {
	pieces := trial{c, c.c.solved[t]}.pieces()
	var out []RipBack
	ripped, kept := map[int]bool{}, map[int]bool{}
	var order []string
	for i, x := range s.was {
		if s.missed[i] && !slices.Contains(order, x.Piece) {
			order = append(order, x.Piece)
		}
	}
	for _, p := range order {
		if !slices.ContainsFunc(c.knitted(), func(mark int) bool { return pieces[mark] == p }) {
			continue // still to come: it follows the others
		}
		back := c.places(t, s.in(p), func(mark int) bool { return pieces[mark] == p })
		for i := range back {
			back[i].Piece = p
		}
		out = append(out, back...)
		if n := len(back); n > 0 {
			last := back[n-1].Mark
			kept[last] = c.straight(last)
			for mark := range pieces {
				ripped[mark] = ripped[mark] || pieces[mark] == p && mark >= last
			}
		}
	}
	// Together they have to mend all of it.
	x, ok := c.try(t, func(mark int) bool { return c.done(mark) && !ripped[mark] }, func(mark int) bool { return kept[mark] })
	if ok && len(out) > 0 {
		if mends, left, _ := x.mends(s); len(left) == 0 {
			for i := range out {
				if b := &out[i]; i+1 == len(out) || out[i+1].Piece != b.Piece {
					b.Left = nil
					b.Mends = each(slices.DeleteFunc(slices.Clone(mends), func(y Taken) bool { return y.Piece != b.Piece }))
				}
			}
			return out
		}
	}
	out = c.places(t, s, func(int) bool { return true })
	for i := range out {
		out[i].Piece = pieces[out[i].Mark]
	}
	return out
}

// knitted is the marked instructions that are knitted already.
func (c *converter) knitted() []int {
	var out []int
	for i := range c.d.File.Marks {
		if c.done(i) {
			out = append(out, i)
		}
	}
	return out
}

// straight says whether an instruction is worked without shaping, so that as many of its rows can be kept as serve.
func (c *converter) straight(mark int) bool {
	_, ok := c.d.File.Marks[mark].Phrase.(*grammar.Work)
	return ok
}

// pieces is the piece that each marked instruction is worked in.
func (x trial) pieces() []string {
	out := make([]string, len(x.c.d.File.Marks))
	seen := make([]bool, len(out))
	last := ""
	for i := range x.s.run.Stages {
		st := &x.s.run.Stages[i]
		if st.Piece != "" {
			last = st.Piece
		}
		if !seen[st.Mark] {
			seen[st.Mark], out[st.Mark] = true, last
		}
	}
	return out
}

// places is the knitted instructions of a part of the work from which more and more of what is missed can be had, the latest
// first; the last of them mends all of it, where any does.
func (c *converter) places(t int, s search, in func(mark int) bool) []RipBack {
	drafted := trial{c, &solved{run: c.d.Runs[c.c.Targets[t].Base()]}}.rowsBy()
	var out []RipBack
	least := 0
	for _, missed := range s.missed {
		if missed {
			least++
		}
	}
	marks := c.knitted()
	for i := len(marks) - 1; i >= 0 && least > 0; i-- {
		k := marks[i]
		if _, worked := drafted[k]; !worked || !in(k) || !c.canChange(k) {
			continue
		}
		x, ok := c.try(t, func(mark int) bool { return c.done(mark) && !(in(mark) && mark >= k) }, func(mark int) bool { return mark == k && c.straight(k) })
		if !ok {
			continue
		}
		mends, left, worse := x.mends(s)
		if worse || len(left) >= least {
			continue
		}
		least = len(left)
		_, begin := c.d.File.Marks[k].Phrase.(*grammar.CastOn)
		b := RipBack{Mark: k, Begin: begin, Mends: each(mends), Left: each(left)}
		for mark, rows := range drafted {
			if mark >= k && c.done(mark) && in(mark) {
				b.Undo += rows
			}
		}
		if c.straight(k) {
			// It need not be undone further than it is too long.
			now, had := x.rowsBy()[k], drafted[k]
			b.Undo -= min(now, had)
			if b.Undo == 0 {
				b.More = now - had
			}
		}
		out = append(out, b)
	}
	return out
}

// canChange says whether an instruction has a number that could come out otherwise.
func (c *converter) canChange(mark int) bool {
	switch c.d.File.Marks[mark].Phrase.(type) {
	case *grammar.CastOn, *grammar.PickUp, *grammar.Work, *grammar.Shape, *grammar.Repeat, *grammar.Evenly, *grammar.BindOff, *grammar.Turn:
		return true
	}
	return false
}

// rowsBy is the rows that each instruction passes, the first time it is worked; as drafted where nothing is solved.
func (x trial) rowsBy() map[int]int64 {
	v := func(q int) int64 {
		if x.s.values != nil {
			return x.s.values[q]
		}
		return x.c.d.Quantities[q].Drafted[x.s.run.Size]
	}
	out := map[int]int64{}
	for i := range x.s.run.Stages {
		st := &x.s.run.Stages[i]
		first(out, st.Mark, st.Rows.At(v))
	}
	return out
}

// mends is what becomes of all that was missed: what can be had and what is left; worse says that something else is missed now.
func (x trial) mends(s search) (mends, left []Taken, worse bool) {
	now, like := judged(x.taken(), s.afresh, s.drafted)
	for i, y := range now {
		if s.missed[i] {
			y.Wanted = s.was[i].Wanted // whatever another piece that is still knitted would have it follow
		}
		switch {
		case s.missed[i] && y.within(like[i]):
			mends = append(mends, y)
		case s.missed[i]:
			left = append(left, y)
		case !y.within(like[i]) && s.was[i].within(like[i]):
			worse = true
		}
	}
	return mends, left, worse
}

// nothingFits adds to a contradiction how far what is knitted would have to be ripped back for the rest to be possible.
func (c *converter) nothingFits(t int, bad *grammar.Diagnostic) {
	if c.r.Knitted == "" {
		return
	}
	label, _ := c.labelMark()
	c.retries = retries
	for k := label - 1; k >= 0; k-- {
		if !c.canChange(k) {
			continue
		}
		if _, ok := c.try(t, func(mark int) bool { return mark < k }, func(int) bool { return false }); ok {
			line, _ := c.d.File.Position(c.d.File.Marks[k].Span.Start)
			bad.WayOut = fmt.Sprintf("nothing can follow what is knitted: rip back to %s in line %d, from where it can be done, or l%s", c.spot(k), line, bad.WayOut[1:])
			return
		}
	}
}
