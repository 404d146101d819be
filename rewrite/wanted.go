package rewrite

import (
	"maps"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Got is a measure of the wearer: what is wanted and what comes out, in centimetres. What is wanted is what the measurements say; of
// a width that follows none, what was drafted. Every output that speaks of what is wanted has it from here.
type Got struct {
	Name         string
	Unit         grammar.Unit // what the draft writes it in
	Wanted, Gets *big.Rat
	// Meant is by how much the draft itself goes beyond the measurement, or stays below it, on purpose; nil where it does not.
	Meant  *big.Rat
	Untied bool // a width that follows no measurement
}

// Miss is how far what comes out is from what is wanted; negative where it is too small.
func (g Got) Miss() *big.Rat { return new(big.Rat).Sub(g.Gets, g.Wanted) }

// Off is the miss that counts: where the draft leaves a measurement on purpose, neither of the two is missed.
func (g Got) Off() *big.Rat {
	m := g.Miss()
	if g.Meant == nil {
		return m
	}
	other := new(big.Rat).Sub(m, g.Meant)
	if cmpAbs(m, other) <= 0 {
		return m
	}
	return other
}

// Near says whether what comes out is as near as counts as close, see [Allowed].
func (g Got) Near() bool { return cmpAbs(g.Off(), Allowed(g.Wanted)) <= 0 }

func cmpAbs(a, b *big.Rat) int {
	return new(big.Rat).Abs(a).Cmp(new(big.Rat).Abs(b))
}

// Allowed is the miss up to which a measure counts as close: 2 cm in 100, and a centimetre for whatever is small. Ready-made
// sizes of that girth are 4 cm apart (EN 13402-3, bust 84 to 104 cm), so that nobody between them is nearer than this
// to one of theirs for certain.
func Allowed(wanted *big.Rat) *big.Rat {
	x := new(big.Rat).Mul(wanted, big.NewRat(2, 100))
	if x.Abs(x).Cmp(big.NewRat(1, 1)) < 0 {
		return big.NewRat(1, 1)
	}
	return x
}

// Gives is what target t gives: the measure that sizes are chosen by, and every width and length that follows a measurement, each
// with what is wanted of it. Of a measure that several pieces have it is the one that misses by most.
func (c *Conversion) Gives(t int) []Got {
	w := wishesOf(c, t, true)
	out, _ := w.gets(func(x *wish) (dsl.Fraction, bool) { return x.here, true })
	return out
}

// work is what a target comes to.
func (c *Conversion) work(t int) work {
	s := c.solved[t]
	return work{c.Draft, s.run, func(q int) int64 { return s.values[q] }, c.Fabrics}
}

// askedOf is what is wanted of each score and length of a size at gauges, in centimetres: what its tie says, else what was drafted.
func askedOf(d *dsl.Draft, s *solved, gauges []dsl.Gauge) (scores []dsl.Fraction, lengths []*big.Rat) {
	x := *s
	x.wanted, x.length = slices.Clone(s.wanted), slices.Clone(s.length)
	if s.model != nil { // a draft as it stands asks for nothing else
		x.askTies(d, gauges)
	}
	return x.wanted, x.length
}

// meantOf is by how much a draft leaves each tied score and length of a size on purpose; nil where it does not.
func meantOf(d *dsl.Draft, s *solved) (scores, lengths []*big.Rat) {
	own := &converter{d: d, old: d.DraftedGauges()}
	t, run := s.target, d.Runs[s.target.Base()]
	scores, lengths = slices.Clone(s.depart), make([]*big.Rat, len(run.Lengths))
	for i := range run.Scores {
		if scores[i] != nil || run.Scores[i].Tie < 0 || t.Lo != t.Hi {
			continue
		}
		if x, err := own.departure(run, i, t.Lo); err == nil && x.off.Sign() != 0 {
			scores[i] = x.off.Rat()
		}
	}
	for i := range run.Lengths {
		q := d.Quantities[run.Lengths[i].Length]
		if q.Tie == nil || q.Tie.Kind != dsl.Length {
			continue
		}
		var off [2]*big.Rat
		for k, size := range []int{t.Lo, t.Hi} {
			off[k] = own.lengthDeparture(q, size, d.Evaluator(d.DraftedSize(size), own.old))
		}
		if x := t.Between(off[0], off[1]); x.Sign() != 0 {
			lengths[i] = x
		}
	}
	return scores, lengths
}

// wish is a size that is wanted and can be found again in another printed size.
type wish struct {
	place
	name   string
	unit   grammar.Unit
	want   *big.Rat
	meant  *big.Rat     // see Got
	here   dsl.Fraction // what it is in the work it was found in, in centimetres
	untied bool
}

// place is where in a work a size is: what kind it is of, the instruction, and which of its like it is there.
type place struct {
	kind      sizeKind
	mark, nth int
}

type sizeKind struct{ length, rows, tied bool }

// wanted is what is wanted of a target: every width and height that follows a measurement, and of a piece in which nothing
// follows a measurement its widest count; and the measure that sizes are chosen by.
type wanted struct {
	list []wish
	girth
}

// girth is the measure that sizes are chosen by, where no number follows it alone: what the widths that go round the body by it fit,
// all else in them being as wanted.
type girth struct {
	sizing *Got // without what it gets; nil where there is none
	share  func(grammar.Expr) *big.Rat
	parts  []round
}

// round is a width that grows with the measure that sizes are chosen by, by its share of each centimetre of that.
type round struct {
	wish
	piece string
	share *big.Rat
}

// wishesOf is what is wanted of a target. What the draft leaves on purpose takes some finding out, and is left aside unless it
// is asked for.
func wishesOf(c *Conversion, t int, meant bool) *wanted {
	d := c.Draft
	asked, askedLengths := askedOf(d, c.solved[t], c.Fabrics)
	over, overLengths := make([]*big.Rat, len(asked)), make([]*big.Rat, len(askedLengths))
	if meant {
		over, overLengths = meantOf(d, c.solved[t])
	}
	out := &wanted{girth: newGirth(c, t)}
	tied := map[string]bool{}
	wide := map[string]*wish{}
	var pieces []string
	score, length := 0, 0
	add := func(x wish, q *dsl.Quantity) {
		x.name, x.unit = fold(d.File.Text(q.Tie.Expr.ExprSpan())), unitIn(d, q.Tie.Expr)
		out.list = append(out.list, x)
	}
	c.work(t).each(func(at place, sc *dsl.Score, l *dsl.LengthRule, here dsl.Fraction) {
		x := wish{place: at, here: here}
		piece := pieceOf(d, at.mark)
		if l != nil {
			x.want, x.meant = askedLengths[length], overLengths[length]
			length++
			if q := d.Quantities[l.Length]; q.Tie != nil && q.Tie.Kind == dsl.Length && x.want != nil {
				add(x, q)
			}
			return
		}
		x.want, x.meant = asked[score].Rat(), over[score]
		if meant {
			x.roundedOff(d, sc)
		}
		score++
		out.part(c, t, x, sc, piece)
		switch {
		case sc.Tie >= 0:
			add(x, d.Quantities[sc.Tie])
			tied[piece] = tied[piece] || !sc.Rows
		case sc.Rows || !sc.Count:
		case wide[piece] == nil || x.want.Cmp(wide[piece].want) > 0:
			if wide[piece] == nil {
				pieces = append(pieces, piece)
			}
			x.name, x.unit, x.untied = strings.TrimSpace(piece+" width"), d.Unit(), true
			wide[piece] = &x
		}
	})
	for _, p := range pieces {
		if !tied[p] {
			out.list = append(out.list, *wide[p])
		}
	}
	out.apart(d)
	return out
}

// roundedOff takes for meant what a count is over or under its measurement because the draft says which way it is rounded.
func (x *wish) roundedOff(d *dsl.Draft, sc *dsl.Score) {
	if sc.Tie < 0 || sc.Rows {
		return
	}
	if off := new(big.Rat).Sub(x.here.Rat(), x.want); off.Sign() != 0 && off.Sign() == d.Quantities[sc.Tie].Rounded {
		x.meant = off
	}
}

// apart gives another name to rows that are counted by a measure that other pieces are worked to with a tape, such as those that
// buttonholes are spaced over: they are no length of those pieces.
func (w *wanted) apart(d *dsl.Draft) {
	measured := map[string]bool{}
	for i := range w.list {
		if w.list[i].kind.length {
			measured[w.list[i].name] = true
		}
	}
	for i := range w.list {
		if x := &w.list[i]; x.kind.rows && measured[x.name] {
			if piece := pieceOf(d, x.mark); piece != "" {
				x.name += ", in rows (" + piece + ")"
			} else {
				x.name += ", in rows"
			}
		}
	}
}

// unitIn is the unit that an expression, or what it names, is written in.
func unitIn(d *dsl.Draft, e grammar.Expr) grammar.Unit {
	c := &converter{d: d}
	if u := c.unitOf(e, 0); u.IsLength() {
		return u
	}
	return grammar.Centimetres
}

// gets is what a size gives of what is wanted, where it has that: size finds it. fits says that the first of them is the measure
// that sizes are chosen by, which the garment fits and no number gives.
func (w *wanted) gets(size func(*wish) (dsl.Fraction, bool)) (out []Got, fits bool) {
	at := map[string]int{}
	for i := range w.list {
		x := &w.list[i]
		cm, ok := size(x)
		if !ok {
			continue
		}
		g := Got{Name: x.name, Unit: x.unit, Wanted: x.want, Gets: cm.Rat(), Meant: x.meant, Untied: x.untied}
		// The same measure in several pieces: the one that misses by most.
		if i, again := at[x.name]; again {
			if cmpAbs(g.Off(), out[i].Off()) > 0 {
				out[i] = g
			}
			continue
		}
		at[x.name] = len(out)
		out = append(out, g)
	}
	if w.sizing == nil || slices.ContainsFunc(out, func(g Got) bool { return grammar.Key(g.Name) == grammar.Key(w.sizing.Name) }) {
		return out, false
	}
	if g := w.girth.gets(size); g != nil {
		return append([]Got{*g}, out...), true
	}
	return out, false
}

// halves is, by the names of measures, half of what one repeat of the stitch pattern is wide in each, in centimetres: numbers that are
// recalculated may miss by as much, and none come nearer.
func (w *wanted) halves(work work) map[string]*big.Rat {
	at := map[place]*big.Rat{}
	work.each(func(p place, sc *dsl.Score, _ *dsl.LengthRule, cm dsl.Fraction) {
		if sc == nil || sc.Rows {
			return
		}
		repeat := int64(1)
		for i := range work.run.Relations {
			if r := &work.run.Relations[i]; r.Kind == dsl.Multiple && r.Mark == sc.Mark {
				repeat = max(repeat, r.Mod)
			}
		}
		if n := sc.Expr.At(work.v); n > 0 {
			at[p] = new(big.Rat).Mul(cm.Rat(), big.NewRat(repeat, 2*n))
		}
	})
	out := map[string]*big.Rat{}
	for i := range w.list {
		x := &w.list[i]
		if h := at[x.place]; h != nil && (out[x.name] == nil || h.Cmp(out[x.name]) > 0) {
			out[x.name] = h
		}
	}
	if w.sizing == nil {
		return out
	}
	all, share := new(big.Rat), new(big.Rat)
	for _, p := range w.parts {
		if h := at[p.place]; h != nil {
			all.Add(all, h)
			share.Add(share, p.share)
		}
	}
	if share.Sign() > 0 && out[w.sizing.Name] == nil {
		out[w.sizing.Name] = all.Quo(all, share)
	}
	return out
}

// newGirth finds the measure that sizes are chosen by and how widths grow with it.
func newGirth(c *Conversion, t int) girth {
	d := c.Draft
	target := c.solved[t].target
	if d.SizedBy < 0 || d.Measures[d.SizedBy].Kind != dsl.Length {
		return girth{}
	}
	m := d.Measures[d.SizedBy]
	want, err := d.MeasureAt(d.SizedBy, target, c.Fabrics)
	if err != nil {
		return girth{}
	}
	more := target
	more.Replace = maps.Clone(target.Replace)
	if more.Replace == nil {
		more.Replace = map[string]*big.Rat{}
	}
	more.Replace[m.Name.Key] = new(big.Rat).Add(want, big.NewRat(1, 1))
	as, wider := d.Evaluator(target, c.Fabrics), d.Evaluator(more, c.Fabrics)
	known := map[grammar.Expr]*big.Rat{}
	share := func(e grammar.Expr) *big.Rat {
		if x, ok := known[e]; ok {
			return x
		}
		a, errA := as(e)
		b, errB := wider(e)
		if errA == nil && errB == nil {
			if x := new(big.Rat).Sub(b.Const, a.Const); x.Sign() > 0 {
				known[e] = x
				return x
			}
		}
		known[e] = nil
		return nil
	}
	return girth{sizing: &Got{Name: m.Name.Text, Unit: unitIn(d, m.Expr), Wanted: want}, share: share}
}

// part enters a width, where it grows with the measure that sizes are chosen by: itself, or as a count that another width sets. Of a
// piece it is the widest that goes round the body, and of those the last.
func (g *girth) part(c *Conversion, t int, x wish, sc *dsl.Score, piece string) {
	if g.sizing == nil || sc.Rows {
		return
	}
	q := tiedWidth(c.Draft, sc)
	if q == nil {
		return
	}
	share := g.share(q.Tie.Expr)
	if share == nil {
		return
	}
	if sc.Tie < 0 { // a count that follows another is wanted as wide
		f, err := c.Draft.Eval(q.Tie.Expr, c.solved[t].target, c.Fabrics)
		if err != nil {
			return
		}
		x.want = f.Const
		if off := new(big.Rat).Sub(x.here.Rat(), x.want); off.Sign() != 0 && off.Sign() == q.Rounded {
			x.meant = off
		}
	}
	for _, p := range g.parts {
		if p.piece == piece && p.want.Cmp(x.want) > 0 {
			return
		}
	}
	g.parts = slices.DeleteFunc(g.parts, func(p round) bool { return p.piece == piece && p.mark != x.mark })
	g.parts = append(g.parts, round{x, piece, share})
}

// tiedWidth is the number whose tie sets a width: its own, or, of a count that is that of another number, that one's; nil where
// there is none.
func tiedWidth(d *dsl.Draft, sc *dsl.Score) *dsl.Quantity {
	if sc.Tie >= 0 {
		return d.Quantities[sc.Tie]
	}
	if e := sc.Expr; len(e.Terms) == 1 && e.Const == 0 && e.Terms[0].Coef == 1 {
		q := d.Quantities[e.Terms[0].Quantity]
		if f := q.Tie; f != nil && f.Kind == dsl.Stitches && len(f.Terms) == 1 && f.Const.Sign() == 0 && f.Terms[0].Coef.Cmp(big.NewRat(1, 1)) == 0 {
			if to := d.Quantities[f.Terms[0].Quantity]; to.Tie != nil && to.Tie.Kind == dsl.Length {
				return to
			}
		}
	}
	return nil
}

// gets is the measure that sizes are chosen by as a garment fits it. The widths that together grow as it does go round the body, and
// what they miss together is missed by it, whichever of them it is in; where none do, the first of them stands for it.
func (g *girth) gets(size func(*wish) (dsl.Fraction, bool)) *Got {
	one := big.NewRat(1, 1)
	var pieces []string
	shares := map[string]*big.Rat{}
	for _, p := range g.parts {
		if shares[p.piece] == nil {
			shares[p.piece] = new(big.Rat)
			pieces = append(pieces, p.piece)
		}
		shares[p.piece].Add(shares[p.piece], p.share)
	}
	if len(pieces) == 0 {
		return nil
	}
	first := pieces[0]
	slices.SortStableFunc(pieces, func(a, b string) int { return shares[b].Cmp(shares[a]) })
	all, in := new(big.Rat), map[string]bool{}
	for _, p := range pieces {
		if x := new(big.Rat).Add(all, shares[p]); x.Cmp(one) <= 0 {
			all, in[p] = x, true
		}
	}
	if all.Cmp(one) != 0 {
		in = map[string]bool{first: true}
		all = shares[first]
	}
	out := *g.sizing
	off, meant := new(big.Rat), new(big.Rat)
	for i := range g.parts {
		p := &g.parts[i]
		if !in[p.piece] {
			continue
		}
		cm, ok := size(&p.wish)
		if !ok {
			return nil
		}
		off.Add(off, cm.Rat()).Sub(off, p.want)
		if p.meant != nil {
			meant.Add(meant, p.meant)
		}
	}
	out.Gets = off.Add(off.Quo(off, all), out.Wanted)
	if meant.Sign() != 0 {
		out.Meant = meant.Quo(meant, all)
	}
	return &out
}
