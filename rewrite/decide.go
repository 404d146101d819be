package rewrite

import (
	"fmt"
	"math/big"
	"slices"
	"sort"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// swatchGauges is the gauges that a card gives for a draft's fabrics: washed where that was measured.
func swatchGauges(d *dsl.Draft, card *dsl.Card) ([]AskedGauge, grammar.Diagnostics) {
	of, diags := card.OfDraft(d)
	if diags.Has(grammar.Error) {
		return nil, diags
	}
	var out []AskedGauge
	for i, s := range of {
		if s == nil {
			continue
		}
		m := s.Counts()
		a := AskedGauge{Fabric: grammar.Key(d.Fabrics[i].Name), Swatch: s, Gauge: dsl.Gauge{Stitches: m.Stitches.Gauge()}}
		if m.Rows != nil {
			a.Gauge.Rows = m.Rows.Gauge()
		}
		out = append(out, a)
	}
	return out, diags
}

// WayKind is one of the three ways out of a gauge that is not the draft's.
type WayKind int

const (
	AsWritten    WayKind = iota // knit the wearer's own size as it is printed
	OtherSize                   // follow the stitch and row counts of another printed size
	Recalculated                // convert
)

// Decision is what a card means for a draft.
type Decision struct {
	Draft   *dsl.Draft
	Card    *dsl.Card
	Needles []Needles
	Choices []Choice // one for each size asked for
	// Yarn is what the recalculated pieces take, nil where recalculating does not work.
	Yarn *Yarn
	// Failed tells why recalculating does not work, "" where it does.
	Failed      string
	Assumptions []string
	Warnings    []string
	Cautions    []string // where the work can hurt someone
}

// Unsure is the swatches whose stitches are not sure enough to decide by: what they may be off by is more than counts as close.
func (d *Decision) Unsure() []*dsl.Swatch {
	var out []*dsl.Swatch
	for _, n := range d.Needles {
		if m := n.Swatch.Counts(); m.Stitches.Off.Cmp(big.NewRat(2, 100)) > 0 {
			out = append(out, n.Swatch)
		}
	}
	return out
}

// Sizes are the names of the sizes that were asked for.
func (d *Decision) Sizes() []string {
	out := make([]string, len(d.Choices))
	for i := range d.Choices {
		out[i] = d.Choices[i].Target.Name
	}
	return out
}

// Needles compares the gauge of a swatch with the one the draft asks for.
type Needles struct {
	Fabric string
	Asked  dsl.Gauge
	Swatch *dsl.Swatch
	// Stitches and Rows are −1 where the swatch has fewer to a length than asked for (it is looser), 1 where it has more, and
	// 0 where the difference is no larger than the error of the swatch.
	Stitches, Rows int
	Over           *big.Rat // the width the draft states its gauge over, in centimetres
	Rounds         bool
	// Size is the needles to try for the gauge asked for, where the card says those of the swatch, and Steps about how many sizes away
	// they are, smaller ones below zero; both are zero where the stitches are those asked for.
	Size  dsl.NeedleSize
	Steps int
}

// TooFar is how many sizes of needles away the hand is fighting the yarn: after three or four (common practice, no source).
const TooFar = 4

// Advice is what to do.
type Advice int

const (
	KnitAsWritten  Advice = iota
	FollowAnother         // the counts of another printed size
	Recalculate           // convert
	ChangeNeedles         // nothing comes close with this cloth: needles of another size, and another swatch
	ChangeYarn            // as that, and the needles would be too many sizes away
	NothingIsClose        // nothing comes close, and it is not the stitches of the swatch
)

func (a Advice) String() string {
	return [...]string{"as written", "other size", "recalculate", "other needles", "other yarn", "nothing is close"}[a]
}

// Choice is the ways out for one size, with the one recommended.
type Choice struct {
	Target dsl.Target
	Own    string // the printed size that is nearest
	Ways   []Way  // printed sizes, best first, then recalculating
	Best   int    // index in Ways: the nearest
	Close  bool   // whether it is close
	Advice Advice
}

// Way is one way out and what the wearer would get.
type Way struct {
	Kind   WayKind
	Size   string // the printed size that is followed
	Gets   []Got
	Astray []Astray // of what is worked by counted rows, what is half a centimetre or more from what is meant
	Worst  int      // index in Gets of the largest miss, -1 where there is none
	Close  bool     // no miss is larger than Allowed, or, recalculated, than half of a repeat of the stitch pattern, see halves
	cost   *big.Rat
	// measured says that some width of the draft follows a measurement.
	measured bool
}

// Astray is a height that comes of counted rows.
type Astray struct {
	Mark      int
	Piece     string
	Rows      int64 // 0 for the height of a whole piece
	Meant, Is *big.Rat
}

// Decide lays the three ways out beside each other, for every size that is asked for, and recommends one. r says which size
// or wearer, as for Convert; its gauges go before those of the card. With an error among the diagnostics the decision is nil;
// places in cards are those of the card, places in drafts those of the draft, and onCard tells which.
func Decide(d *dsl.Draft, card *dsl.Card, r Request) (out *Decision, diags grammar.Diagnostics, onCard bool) {
	of, diags := card.OfDraft(d)
	if diags.Has(grammar.Error) {
		return nil, diags, true
	}
	r.Gauges, diags = WithSwatches(d, card, r.Gauges)
	if diags.Has(grammar.Error) {
		return nil, diags, true
	}
	out = &Decision{Draft: d, Card: card}
	for i, s := range of {
		if s != nil {
			out.Needles = append(out.Needles, needles(d, i, s))
		}
	}
	now := &converter{d: d, r: r, c: &Conversion{Draft: d}, old: d.DraftedGauges()}
	if !now.gauges() {
		return nil, now.diags, false
	}
	c, diags := convert(d, r)
	meant := now.now // the gauges that the solved sizes are worked at
	if c == nil {
		// What is wanted does not hang on the gauge; only the third way is closed.
		why := diags
		plain := r
		plain.Gauges = nil
		if c, diags = convert(d, plain); c == nil {
			return nil, diags, false
		}
		meant = now.old
		for _, x := range why {
			if x.Severity == grammar.Error {
				out.Failed = x.Summary
				break
			}
		}
	}
	out.Assumptions, out.Warnings = now.c.Assumptions, c.Warnings
	if out.Failed == "" {
		out.Yarn = c.Yarn
	}
	now.cautions()
	out.Cautions = now.c.Cautions
	for t := range c.solved {
		ch := choose(c, t, now.now, now.c.Lying(), meant, out.Failed == "")
		ch.Advice = out.advise(&ch)
		out.Choices = append(out.Choices, ch)
	}
	return out, diags, false
}

// WithSwatches is the gauges asked for and, for fabrics without one, those of a card: what is said on its own goes before the
// card. A swatch of a fabric that the draft lacks, and two swatches of one fabric, are errors with their places on the card.
func WithSwatches(d *dsl.Draft, card *dsl.Card, asked []AskedGauge) ([]AskedGauge, grammar.Diagnostics) {
	from, diags := swatchGauges(d, card)
	given := map[string]bool{}
	for _, a := range asked {
		key := grammar.Key(a.Fabric)
		if key == "" {
			key = grammar.Key(d.Fabrics[0].Name)
		}
		given[key] = true
	}
	out := append([]AskedGauge(nil), asked...)
	for _, a := range from {
		if !given[a.Fabric] {
			out = append(out, a)
		}
	}
	return out, diags
}

func needles(d *dsl.Draft, i int, s *dsl.Swatch) Needles {
	f := d.Fabrics[i]
	n := Needles{Fabric: f.Name, Asked: f.Gauge, Swatch: s}
	m := s.Counts()
	against := func(c *dsl.Count, asked *big.Rat) int {
		if c == nil {
			return 0
		}
		off := new(big.Rat).Sub(new(big.Rat).Mul(c.Per, asked), big.NewRat(1, 1)) // wider than asked, as a share
		if new(big.Rat).Abs(off).Cmp(c.Off) <= 0 {
			return 0
		}
		return -off.Sign()
	}
	n.Stitches, n.Rows = against(m.Stitches, f.Gauge.Stitches), against(m.Rows, f.Gauge.Rows)
	n.Over, n.Rounds = (&converter{d: d}).over(i), f.Rounds
	if n.Stitches == 0 {
		return n
	}
	times := new(big.Rat).Quo(m.Stitches.Gauge(), f.Gauge.Stitches)
	size, steps, ok := dsl.NeedlesFor(s.Needles, times)
	if !ok { // how many sizes it would be in the middle of the table
		_, n.Steps, _ = dsl.NeedlesFor("4 mm", times)
	}
	if ok && steps == 0 { // less than half a size: the next is the nearest there is
		size, ok = dsl.NextNeedles(s.Needles, n.Stitches)
		steps = n.Stitches
	}
	if ok {
		n.Size, n.Steps = size, steps
	}
	return n
}

// advise is what to do for one size.
func (d *Decision) advise(ch *Choice) Advice {
	if ch.Close {
		return [...]Advice{AsWritten: KnitAsWritten, OtherSize: FollowAnother, Recalculated: Recalculate}[ch.Ways[ch.Best].Kind]
	}
	out := NothingIsClose
	for _, n := range d.Needles {
		switch {
		case n.Stitches == 0:
		case n.Steps >= TooFar || n.Steps <= -TooFar:
			return ChangeYarn
		default:
			out = ChangeNeedles
		}
	}
	return out
}

// work is one size worked with given numbers at given gauges.
type work struct {
	d   *dsl.Draft
	run *dsl.Run
	v   func(int) int64
	g   []dsl.Gauge
}

// each calls visit for every size of the work that a wish may be about.
func (w work) each(visit func(at place, sc *dsl.Score, l *dsl.LengthRule, cm dsl.Fraction)) {
	seen := map[place]int{}
	at := func(kind sizeKind, mark int) place {
		p := place{kind, mark, 0}
		seen[p]++
		p.nth = seen[p]
		return p
	}
	for i := range w.run.Scores {
		sc := &w.run.Scores[i]
		visit(at(sizeKind{rows: sc.Rows, tied: sc.Tie >= 0}, sc.Mark), sc, nil, sc.Size(w.v, w.g))
	}
	for i := range w.run.Lengths {
		l := &w.run.Lengths[i]
		rows := dsl.FractionOf(w.v(l.Rows)).Over(dsl.FractionFrom(w.g[l.Fabric].Rows))
		visit(at(sizeKind{length: true}, l.Mark), nil, l, l.Before.Size(w.v, w.g).Plus(rows))
	}
}

// often is how many times the work comes to a marked instruction.
func (w work) often(mark int) int64 {
	n := int64(0)
	for i := range w.run.Stages {
		if w.run.Stages[i].Mark == mark {
			n++
		}
	}
	return max(1, n)
}

func sum(m map[int]*big.Rat, key int, x *big.Rat) {
	if m[key] == nil {
		m[key] = new(big.Rat)
	}
	m[key].Add(m[key], x)
}

// choose compares the ways for one target.
func choose(c *Conversion, t int, now, flat, meant []dsl.Gauge, recalculates bool) Choice {
	d := c.Draft
	s := c.solved[t]
	target := s.target
	solvedAt := func(q int) int64 { return s.values[q] }
	own := target.Base()
	wishes := wishesOf(c, t, true)

	ch := Choice{Target: target, Own: d.Sizes[own]}
	for size := range d.Sizes {
		w := work{d, d.Runs[size], printed(d, s, size, own, flat), now} // a tape is laid along cloth that lies flat
		way := Way{Kind: OtherSize, Size: d.Sizes[size]}
		if size == own {
			way.Kind = AsWritten
		}
		way.settle(c, s, wishes, w, meant)
		ch.Ways = append(ch.Ways, way)
	}
	sort.SliceStable(ch.Ways, func(i, j int) bool { return ch.Ways[i].cost.Cmp(ch.Ways[j].cost) < 0 })
	if recalculates {
		way := Way{Kind: Recalculated}
		way.settle(c, s, wishes, work{d, s.run, solvedAt, now}, meant)
		ch.Ways = append(ch.Ways, way)
	}
	ch.recommend(recalculates)
	return ch
}

// printed is the numbers of a printed size as they stand. What is worked to a length is worked with as many rows as that takes at
// the gauge of the swatch: to the printed lengths where the size is the wearer's own, else to the lengths the wearer wants, which
// a tape gives whatever the counts are.
func printed(d *dsl.Draft, s *solved, size, own int, now []dsl.Gauge) func(int) int64 {
	lengths := map[int]*big.Rat{}
	if size != own {
		for i := range s.run.Lengths {
			first(lengths, s.run.Lengths[i].Length, s.length[i])
		}
	}
	rows := map[int]int64{}
	v := func(q int) int64 {
		if n, ok := rows[q]; ok {
			return n
		}
		return d.Quantities[q].Drafted[size]
	}
	for i := range d.Runs[size].Lengths {
		l := &d.Runs[size].Lengths[i]
		length := lengths[l.Length]
		if length == nil {
			var err error
			if length, err = d.Stated(d.Quantities[l.Length], d.DraftedSize(own)); err != nil {
				continue
			}
		}
		x := new(big.Rat).Sub(length, l.Before.Cm(v, now))
		rows[l.Rows] = max(0, dsl.NearestRows(x.Mul(x, now[l.Fabric].Rows), l.Step, d.Quantities[l.Rows].Drafted[size]%2))
	}
	return v
}

func pieceOf(d *dsl.Draft, mark int) string {
	if h := d.File.Marks[mark].Heading; h >= 0 {
		return d.File.Headings[h].Text
	}
	return ""
}

// settle fills in what a way gives: w is the way worked, at the gauge of the swatch.
func (way *Way) settle(c *Conversion, s *solved, wishes *wanted, w work, meant []dsl.Gauge) {
	d := c.Draft
	sizes := map[place]dsl.Fraction{}
	w.each(func(at place, _ *dsl.Score, _ *dsl.LengthRule, cm dsl.Fraction) { sizes[at] = cm })
	way.Gets, _ = wishes.gets(func(x *wish) (dsl.Fraction, bool) { cm, ok := sizes[x.place]; return cm, ok })
	way.astray(d, s, w, meant)
	var designed map[string]*big.Rat
	if way.Kind == AsWritten && asDraftedSize(s.target) {
		designed = wishes.designed(d, s.target.Base())
	}

	way.Worst, way.Close, way.cost = -1, true, new(big.Rat)
	way.measured = slices.ContainsFunc(wishes.list, func(x wish) bool { return x.kind.tied })
	var half map[string]*big.Rat
	if way.Kind == Recalculated {
		half = wishes.halves(w)
	}
	var most *big.Rat
	for i, g := range way.Gets {
		if !way.judgedBy(g) {
			continue
		}
		m := g.Off()
		m.Abs(m)
		way.Close = way.Close && (g.Near() || half[g.Name] != nil && g.inHalfARepeat(half[g.Name]) || designed[g.Name] != nil && g.nearTo(designed[g.Name]))
		if most == nil || m.Cmp(most) > 0 {
			most, way.Worst = m, i
		}
		way.cost.Add(way.cost, new(big.Rat).Mul(m, m))
	}
	for _, a := range way.Astray {
		if a.Rows == 0 {
			m := new(big.Rat).Sub(a.Is, a.Meant)
			way.cost.Add(way.cost, new(big.Rat).Mul(m, m))
			way.Close = way.Close && m.Abs(m).Cmp(Allowed(a.Meant)) <= 0
		}
	}
}

// designed is what each measure comes to in a printed size at the draft's own gauge: the garment that was designed.
func (w *wanted) designed(d *dsl.Draft, size int) map[string]*big.Rat {
	sizes := map[place]dsl.Fraction{}
	work{d, d.Runs[size], func(q int) int64 { return d.Quantities[q].Drafted[size] }, d.DraftedGauges()}.each(
		func(at place, _ *dsl.Score, _ *dsl.LengthRule, cm dsl.Fraction) { sizes[at] = cm })
	all, _ := w.gets(func(x *wish) (dsl.Fraction, bool) { cm, ok := sizes[x.place]; return cm, ok })
	out := map[string]*big.Rat{}
	for _, g := range all {
		out[g.Name] = g.Gets
	}
	return out
}

// nearTo says whether what comes out is as near to the garment that was designed as counts as close: a draft that rounds a wrist up to its
// rib is right as written at its own gauge.
func (g Got) nearTo(designed *big.Rat) bool {
	return cmpAbs(new(big.Rat).Sub(g.Gets, designed), Allowed(g.Wanted)) <= 0
}

// inHalfARepeat says whether what comes out is within half a repeat of the stitch pattern, and no more than half again as far off as what
// counts as close.
func (g Got) inHalfARepeat(half *big.Rat) bool {
	most := new(big.Rat).Mul(Allowed(g.Wanted), big.NewRat(3, 2))
	return cmpAbs(g.Off(), half) <= 0 && cmpAbs(g.Off(), most) <= 0
}

// judgedBy says whether a way is judged by a measure: a width that follows no measurement is what nobody asked for, and only stands
// for those where a draft has none.
func (way *Way) judgedBy(g Got) bool { return !g.Untied || !way.measured }

// astray finds what is worked by counted rows and comes out half a centimetre or more from what is meant, and so the height of
// whole pieces.
func (way *Way) astray(d *dsl.Draft, s *solved, w work, meant []dsl.Gauge) {
	least := big.NewRat(1, 2)
	add := func(a Astray) {
		if off := new(big.Rat).Sub(a.Is, a.Meant); off.Abs(off).Cmp(least) < 0 {
			return
		}
		way.Astray = append(way.Astray, a)
	}
	// The edges of one instruction are taken together: another size may have other clauses.
	base := work{d, s.run, func(q int) int64 { return s.values[q] }, meant}
	want, is, rows := map[int]*big.Rat{}, map[int]*big.Rat{}, map[int]int64{}
	var marks []int
	i := 0
	base.each(func(_ place, sc *dsl.Score, _ *dsl.LengthRule, _ dsl.Fraction) {
		if sc == nil {
			return
		}
		if sc.Rows && sc.Tie < 0 {
			sum(want, sc.Mark, s.wanted[i].Rat())
		}
		i++
	})
	w.each(func(_ place, sc *dsl.Score, _ *dsl.LengthRule, cm dsl.Fraction) {
		if sc == nil || !sc.Rows || sc.Tie >= 0 {
			return
		}
		if is[sc.Mark] == nil {
			marks = append(marks, sc.Mark)
		}
		sum(is, sc.Mark, cm.Rat())
		rows[sc.Mark] += sc.Expr.At(w.v)
	})
	for _, m := range marks {
		if want[m] == nil {
			continue
		}
		// A twin works its instructions again.
		nw, nb := w.often(m), base.often(m)
		if n := rows[m] / nw; n > 0 {
			add(Astray{m, pieceOf(d, m), n, new(big.Rat).Quo(want[m], rat(nb)), new(big.Rat).Quo(is[m], rat(nw))})
		}
	}
	names, high, at := w.heights()
	_, should, _ := base.heights()
	for _, p := range names {
		if should[p] != nil {
			add(Astray{at[p], p, 0, should[p], high[p]})
		}
	}
}

// heights is how high each piece is, that of its highest stage, and the instruction it is reached by.
func (w work) heights() (names []string, high map[string]*big.Rat, at map[string]int) {
	tops := map[string]dsl.Fraction{}
	at = map[string]int{}
	for k := range w.run.Stages {
		st := &w.run.Stages[k]
		p := pieceOf(w.d, st.Mark)
		h := st.Upto.Size(w.v, w.g)
		top, known := tops[p]
		if !known {
			names = append(names, p)
		}
		if !known || h.Cmp(top) > 0 {
			tops[p], at[p] = h, st.Mark
		}
	}
	high = make(map[string]*big.Rat, len(tops))
	for p, top := range tops {
		high[p] = top.Rat()
	}
	return names, high, at
}

// recommend picks a way: a printed size that is close in everything, else recalculating, else what misses by least.
func (ch *Choice) recommend(recalculates bool) {
	own, printed, last := -1, -1, len(ch.Ways)-1
	for i := range ch.Ways {
		w := &ch.Ways[i]
		if w.Kind == AsWritten {
			own = i
		}
		if w.Kind != Recalculated && w.Close && printed < 0 {
			printed = i
		}
	}
	// Among close ones, the wearer's own size where no other is better by more than a tape shows.
	if printed >= 0 && own >= 0 && ch.Ways[own].Close {
		gain := new(big.Rat).Sub(ch.Ways[own].most(), ch.Ways[printed].most())
		if gain.Cmp(big.NewRat(1, 2)) <= 0 {
			printed = own
		}
	}
	switch {
	case printed >= 0:
		ch.Best, ch.Close = printed, true
	case recalculates && ch.Ways[last].Close:
		ch.Best, ch.Close = last, true
	default:
		for i := range ch.Ways {
			if ch.Ways[i].cost.Cmp(ch.Ways[ch.Best].cost) < 0 {
				ch.Best = i
			}
		}
	}
}

// Why says what to do and why, lengths written in the unit that in gives for the one the draft uses.
func (ch *Choice) Why(in func(grammar.Unit) grammar.Unit) string {
	w := &ch.Ways[ch.Best]
	// Printed sizes come first, best first.
	nearest := "the nearest, " + ch.Ways[0].Size + ", " + ch.Ways[0].tooFar(in)
	if ch.Ways[0].Size == "" {
		nearest = "as written, it " + ch.Ways[0].tooFar(in)
	}
	const none = "with this cloth, neither a printed size nor recalculating comes close"
	best := "the nearest is to " + lowerFirst(w.imperative()) + ", which " + w.tooFar(in)
	if w.Kind == Recalculated {
		best += ": as near as whole stitches, and what the draft fixes, come at this gauge"
	}
	if ch.Ways[len(ch.Ways)-1].Kind != Recalculated {
		best = "the numbers cannot be recalculated for this gauge, and " + nearest
	}
	switch ch.Advice {
	case Recalculate:
		return fmt.Sprintf("Recalculate: no measure is off by %s. No printed size is close: %s.", w.misses(in), nearest)
	case KnitAsWritten, FollowAnother:
		return fmt.Sprintf("%s: no measure is off by %s.", w.imperative(), w.misses(in))
	case ChangeNeedles:
		return "Try other needles and swatch again: " + none + ". " + upper(best) + "."
	case ChangeYarn:
		return "Take another yarn: " + none + ", and the gauge asked for is more sizes of needles away than a hand can make up for. " + upper(best) + "."
	}
	return "None of them is close, and that is not the stitches of the swatch. " + upper(best) + "."
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }

// imperative is what to do, in words.
func (w *Way) imperative() string {
	switch {
	case w.Kind == Recalculated:
		return "Recalculate"
	case w.Kind == AsWritten && w.Size == "":
		return "Knit it as written"
	case w.Kind == AsWritten:
		return "Knit size " + w.Size + " as written"
	}
	return "Follow the counts of size " + w.Size + ", with your own lengths"
}

// most is the largest miss, in centimetres.
func (w *Way) most() *big.Rat {
	if w.Worst < 0 {
		return new(big.Rat)
	}
	m := w.Gets[w.Worst].Off()
	return m.Abs(m)
}

// misses is the largest miss: `more than 0.9 cm (wrist)`.
func (w *Way) misses(in func(grammar.Unit) grammar.Unit) string {
	if w.most().Cmp(big.NewRat(1, 10)) < 0 {
		return "a millimetre"
	}
	g := w.Gets[w.Worst]
	return fmt.Sprintf("more than %s (%s)", Tenths(w.most(), in(g.Unit)), g.Name)
}

// tooFar names what is furthest beyond what is allowed.
func (w *Way) tooFar(in func(grammar.Unit) grammar.Unit) string {
	var over *big.Rat
	text := "is close in every measure"
	look := func(wanted, off *big.Rat, say func() string) {
		x := new(big.Rat).Quo(off.Abs(off), Allowed(wanted))
		if x.Cmp(big.NewRat(1, 1)) > 0 && (over == nil || x.Cmp(over) > 0) {
			over, text = x, say()
		}
	}
	for _, g := range w.Gets {
		if !w.judgedBy(g) {
			continue
		}
		look(g.Wanted, g.Off(), func() string {
			return fmt.Sprintf("makes %s %s where %s is wanted", g.Name, Tenths(g.Gets, in(g.Unit)), Tenths(g.Wanted, in(g.Unit)))
		})
	}
	for _, a := range w.Astray {
		if a.Rows == 0 {
			look(a.Meant, new(big.Rat).Sub(a.Is, a.Meant), func() string {
				where := ""
				if a.Piece != "" {
					where = " at the end of " + a.Piece
				}
				return fmt.Sprintf("makes it %s high%s where %s is meant", Tenths(a.Is, in(grammar.Centimetres)), where, Tenths(a.Meant, in(grammar.Centimetres)))
			})
		}
	}
	return text
}

func pieceName(p string) string {
	if p == "" {
		return "the piece"
	}
	return p
}

// Tenths is a length to a tenth of its unit, with it: `97.8 cm`.
func Tenths(cm *big.Rat, u grammar.Unit) string {
	if u == grammar.Inches {
		return strings.TrimSuffix(new(big.Rat).Quo(cm, big.NewRat(254, 100)).FloatString(1), ".0") + " in"
	}
	return strings.TrimSuffix(cm.FloatString(1), ".0") + " cm"
}
