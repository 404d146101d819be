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

// words turns the whole numbers of all sizes back into the sentences of the draft.
func (c *converter) words() {
	w := &writer{converter: c, sp: newSpeller(c.d.File, c.d.Block.Sizes), out: make([][]*big.Rat, len(c.d.Quantities)), edits: map[int][]edit{}, spun: map[spun]*big.Rat{}}
	w.share()
	w.block()
	for i := range c.d.File.Marks {
		w.mark(i)
	}
	w.numbers()
	w.finish()
}

// edit is an edit inside a mark, with the number it belongs to.
type edit struct {
	Edit
	quantity int // -1
}

type writer struct {
	*converter
	sp        *speller
	out       [][]*big.Rat // a quantity of the text: its number for each target, in its own unit
	edits     map[int][]edit
	rewritten map[int]bool
	spoken    map[string]int // how instructions speak of a name
	spun      map[spun]*big.Rat
}

func (w *writer) n() int { return len(w.c.Targets) }

// value is a quantity's whole number in target t.
func (w *writer) value(q, t int) int64 { return w.c.values[t][q] }

func (w *writer) at(t int) func(int) int64 { return func(q int) int64 { return w.c.values[t][q] } }

// base is a number as drafted for the size a target takes its structure from.
func (w *writer) baseOf(q *dsl.Quantity, t int) int64 { return q.Drafted[w.c.Targets[t].Base()] }

func rat(n int64) *big.Rat { return new(big.Rat).SetInt64(n) }

// share works out the numbers that are not unknowns: what is shared out of a count, figures of length and yarn.
func (w *writer) share() {
	w.rewritten = map[int]bool{}
	for _, q := range w.d.Quantities {
		if q.Hidden() {
			continue
		}
		w.out[q.ID] = make([]*big.Rat, w.n())
		for t := range w.c.Targets {
			switch {
			case q.Kind == dsl.Length:
				x := w.lengths[t][q.ID].cm
				if q.Fixed {
					x, _ = w.d.Stated(q, w.c.Targets[t])
				}
				w.out[q.ID][t] = inUnit(x, q.Value.Unit)
			case q.Kind == dsl.Yarn:
				x, _ := w.d.Stated(q, w.c.Targets[t])
				w.out[q.ID][t] = x
			case q.Shared:
				w.out[q.ID][t] = rat(w.baseOf(q, t))
			default:
				w.out[q.ID][t] = rat(w.value(q.ID, t))
			}
			if q.Value.Unit == grammar.Ridges {
				w.out[q.ID][t].Quo(w.out[q.ID][t], big.NewRat(2, 1))
			}
		}
	}
	for t, s := range w.c.solved {
		for i := range s.run.Late {
			l := &s.run.Late[i]
			n := l.Base.At(w.at(t)) + w.soFar(l.Running, t)
			w.out[l.Quantity][t] = rat(n)
			w.c.values[t][l.Quantity] = n
		}
		if w.done != nil {
			// What is on the needles has the rows it has: its lengths are what those measure now.
			for i := range s.run.Lengths {
				l := &s.run.Lengths[i]
				if !w.done(l.Mark) {
					continue
				}
				q := w.d.Quantities[l.Length]
				if cm := w.restated(l, s.run.Size, new(big.Rat).Mul(w.out[q.ID][t], unitCm(q.Value.Unit))); cm != nil {
					w.out[q.ID][t] = cm.Quo(cm, unitCm(q.Value.Unit))
					w.warn("What is knitted up to %s keeps its rows; the lengths before it are what those rows measure.", w.r.Knitted)
				}
			}
		}
		for _, h := range s.run.Heights {
			// A height that is said follows the work where it no longer reads the same.
			q := w.d.Quantities[h.Quantity]
			is := h.Height.Cm(w.at(t), w.now)
			off := new(big.Rat).Mul(w.out[q.ID][t], unitCm(q.Value.Unit))
			off.Sub(off, is)
			if !q.Fixed && off.Abs(off).Cmp(dsl.Slack(q.Value.Unit, w.now[w.d.FabricOf(q.Mark)])) > 0 {
				w.out[q.ID][t] = new(big.Rat).Quo(tape(is, q.Value.Unit), unitCm(q.Value.Unit))
			}
		}
		for _, l := range s.run.Layouts {
			if !l.Bound {
				w.layout(t, l)
			}
		}
		w.ratios(t, s)
	}
	w.ends()
	w.yarn()
}

// ends scales what a spacing leaves before its first and after its last as its gaps are: they are lengths too. The holes
// themselves stay as large as they are, since the button decides.
func (w *writer) ends() {
	for i, m := range w.d.File.Marks {
		p, ok := m.Phrase.(*grammar.Space)
		if !ok {
			continue
		}
		over, ok := w.d.Of(p.Over)
		if !ok {
			continue
		}
		for t := range w.c.Targets {
			was, is := w.baseOf(over, t), w.value(over.ID, t)
			if was == is || was == 0 {
				continue
			}
			for _, v := range []*grammar.Value{p.Before, p.After} {
				if q, ok := w.d.Of(v); ok && !q.Fixed && q.Mark == i {
					x := big.NewRat(w.baseOf(q, t)*is, was)
					w.out[q.ID][t] = dsl.RoundTo(x, big.NewRat(1, 1))
				}
			}
		}
	}
}

// unitCm is the centimetres in one of the unit. It is not to be changed.
func unitCm(u grammar.Unit) *big.Rat {
	switch u {
	case grammar.Inches:
		return inchCm
	case grammar.Millimetres:
		return millimetreCm
	}
	return unit
}

var inchCm, millimetreCm = big.NewRat(254, 100), big.NewRat(1, 10)

// inUnit is a length in centimetres in another unit.
func inUnit(cm *big.Rat, u grammar.Unit) *big.Rat {
	if per := unitCm(u); per != unit {
		return new(big.Rat).Quo(cm, per)
	}
	return new(big.Rat).Set(cm)
}

// same says whether two numbers are equal. It costs less than Cmp, which multiplies.
func same(x, y *big.Rat) bool {
	if x.IsInt() || y.IsInt() {
		return x.IsInt() && y.IsInt() && x.Num().Cmp(y.Num()) == 0
	}
	return x.Num().Cmp(y.Num()) == 0 && x.Denom().Cmp(y.Denom()) == 0
}

// order is as Cmp, which multiplies whole numbers too.
func order(x, y *big.Rat) int {
	if x.IsInt() && y.IsInt() {
		return x.Num().Cmp(y.Num())
	}
	return x.Cmp(y)
}

// layout shares a count out over the parts of a layout, in the drafted proportion; parts drafted equal stay equal where the
// count allows it.
func (w *writer) layout(t int, l dsl.Laid) {
	base := w.c.Targets[t].Base()
	switch p := w.d.File.Marks[l.Mark].Phrase.(type) {
	case *grammar.Layout:
		var ids []int
		var drafted []int64
		for j := range p.Parts {
			if q, ok := w.d.Of(p.Parts[j].Count); ok {
				ids = append(ids, q.ID)
				drafted = append(drafted, q.Drafted[base])
			}
		}
		total := l.Total.At(w.at(t))
		was := l.Total.At(func(q int) int64 { return w.d.Quantities[q].Drafted[base] })
		parts := drafted
		if total != was || w.moved(t) {
			parts = ShareOut(total, drafted)
		}
		for j, id := range ids {
			w.out[id][t] = rat(parts[j])
			w.c.values[t][id] = parts[j]
		}
	case *grammar.Panel:
		q, ok := w.d.Of(p.After)
		if !ok {
			return
		}
		n, _ := w.d.Of(p.Count)
		total := l.Total.At(w.at(t))
		was := l.Total.At(func(q int) int64 { return w.d.Quantities[q].Drafted[base] })
		before := q.Drafted[base]
		if q.Fixed {
			return
		}
		if rest := was - n.Drafted[base]; rest > 0 && total != was {
			parts := ShareOut(total-n.Drafted[base], []int64{before, rest - before})
			before = parts[0]
		}
		w.out[q.ID][t] = rat(before)
		w.c.values[t][q.ID] = before
	}
}

// moved says whether a target lies between drafted sizes.
func (w *writer) moved(t int) bool {
	return w.c.Targets[t].Lo != w.c.Targets[t].Hi && w.c.Targets[t].T.Sign() != 0
}

// ShareOut divides total in the proportion of the drafted parts into whole numbers, largest remainder first. Parts drafted
// equal stay equal where whole groups of them can take the remainder; of such ways the one nearest to the proportion is
// taken. The parts always add up to total. total must not be negative.
func ShareOut(total int64, drafted []int64) []int64 {
	var sum int64
	for _, d := range drafted {
		sum += d
	}
	out := make([]int64, len(drafted))
	if sum <= 0 || total < 0 {
		if len(out) > 0 {
			out[0] = total
		}
		return out
	}
	left := total
	rest := make([]int64, len(drafted)) // remainder over sum
	for i, d := range drafted {
		x := new(big.Int).Mul(big.NewInt(total), big.NewInt(d))
		q, r := new(big.Int).QuoRem(x, big.NewInt(sum), new(big.Int))
		out[i], rest[i] = q.Int64(), r.Int64()
		left -= out[i]
	}
	var groups [][]int
	at := map[int64]int{}
	for i, d := range drafted {
		g, ok := at[d]
		if !ok {
			g = len(groups)
			at[d] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], i)
	}
	if len(groups) <= 10 {
		// Each group may go a stitch down, stay, or go one or two up: small numbers, tried out.
		best, bestOff := []int64(nil), int64(0)
		try := make([]int64, len(groups))
		var walk func(g int, left, off int64)
		walk = func(g int, left, off int64) {
			if best != nil && off >= bestOff {
				return
			}
			if g == len(groups) {
				if left == 0 {
					best, bestOff = append([]int64(nil), try...), off
				}
				return
			}
			size := int64(len(groups[g]))
			for _, k := range []int64{0, 1, -1, 2} {
				i := groups[g][0]
				if out[i]+k < 0 || drafted[i] > 0 && out[i]+k == 0 || drafted[i] == 0 && k != 0 {
					continue
				}
				d := k*sum - rest[i]
				if d < 0 {
					d = -d
				}
				if d > 3*sum/2 {
					continue
				}
				try[g] = k
				walk(g+1, left-k*size, off+d*size)
			}
		}
		if len(groups) <= 6 {
			walk(0, left, 0)
		}
		if best != nil {
			for g, k := range best {
				for _, i := range groups[g] {
					out[i] += k
				}
			}
			return out
		}
	}
	order := make([]int, len(drafted))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return rest[order[a]] > rest[order[b]] })
	for _, i := range order {
		if left == 0 {
			break
		}
		out[i]++
		left--
	}
	return out
}

// ratios puts the re-derived ratio of stitches picked up along rows in its place.
func (w *writer) ratios(t int, s *solved) {
	for i := range s.run.Pickups {
		p := &s.run.Pickups[i]
		a, b := w.pickRatio(p)
		if q, ok := w.d.Of(p.Sts); ok {
			w.out[q.ID][t] = rat(a)
		}
		if q, ok := w.d.Of(p.PerRows); ok {
			w.out[q.ID][t] = rat(b)
		}
	}
}

func (w *writer) put(mark int, at grammar.Span, text string, quantity int) {
	if w.d.File.Text(at) == text {
		return
	}
	w.edits[mark] = append(w.edits[mark], edit{Edit{at.Start, at.End, text}, quantity})
}

// value edits the numbers of a value to those given, one a target.
func (w *writer) putValue(mark int, v *grammar.Value, x []*big.Rat, quantity int) {
	texts := make([]string, w.n())
	for t := range texts {
		like := v.Nums[0]
		if len(v.Nums) > 1 {
			like = v.Nums[min(w.index(mark, v, t), len(v.Nums)-1)]
		}
		if x[t] == nil || same(like.Val, x[t]) {
			texts[t] = like.Text
			if w.d.File.Text(like.Span) != "" {
				texts[t] = w.d.File.Text(like.Span)
			}
			continue
		}
		if v.Unit.IsLength() {
			texts[t] = w.sp.length(like, x[t], v.Unit)
		} else {
			texts[t] = w.sp.number(like, x[t])
		}
	}
	texts = w.spokenTo(mark, v, texts)
	switch {
	case len(v.Nums) == len(texts) && !(w.fresh && len(v.Nums) > 1 && len(v.Nums) != len(w.d.Sizes)):
		for t, s := range texts {
			w.put(mark, v.Nums[t].Span, s, quantity)
		}
	case len(v.Nums) == 1:
		w.put(mark, v.NumSpan, w.sp.values(v, texts), quantity)
	case v.Scattered:
		// A layout written size by size is rewritten as a whole.
	default:
		w.put(mark, v.NumSpan, w.sp.values(v, texts), quantity)
	}
	w.unitWord(mark, v, x)
	if v.Second != nil {
		w.second(mark, v, x)
	}
}

// soFar is what shaping under way has changed in target t.
func (w *writer) soFar(running []dsl.Partial, t int) int64 {
	var n int64
	for _, p := range running {
		n += p.PerTime * p.Schedule.Done(p.Elapsed.At(w.at(t)), w.at(t), dsl.QuickFirst(w.d, p.Schedule, w.c.solved[t].target.Base()))
	}
	return n
}

// spokenTo are the texts for the sizes that an instruction is for, `sizes M and L only: work 2 (4) rows`, where its list is
// of those; for any other all of them.
func (w *writer) spokenTo(mark int, v *grammar.Value, texts []string) []string {
	if mark < 0 || len(w.d.File.Marks[mark].Only) == 0 || len(v.Nums) == len(w.d.Sizes) {
		return texts
	}
	var out []string
	for t, s := range texts {
		key := grammar.Key(w.d.Sizes[w.c.Targets[t].Base()])
		if slices.ContainsFunc(w.d.File.Marks[mark].Only, func(o grammar.Word) bool { return o.Key == key }) {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return texts
	}
	return out
}

// index is which of a value's numbers a target is drafted by.
func (w *writer) index(mark int, v *grammar.Value, t int) int {
	size := w.c.Targets[t].Base()
	if mark < 0 {
		return size // the draft block lists every size
	}
	m := w.d.File.Marks[mark]
	if len(m.Only) == 0 || len(v.Nums) == len(w.d.Sizes) {
		return size
	}
	for i, o := range m.Only {
		if grammar.Key(w.d.Sizes[size]) == o.Key {
			return i
		}
	}
	return 0
}

// unitWord makes `1 sts` read `1 st`.
func (w *writer) unitWord(mark int, v *grammar.Value, x []*big.Rat) {
	if v.UnitSpan.End <= v.UnitSpan.Start || isOrdinal(v.Nums[0].Text) {
		return // `every 8th row`
	}
	one := true
	changed := false
	for t := range x {
		if x[t] == nil {
			return
		}
		one = one && same(x[t], unit)
		changed = changed || !same(v.Nums[min(w.index(mark, v, t), len(v.Nums)-1)].Val, x[t])
	}
	if !changed && !(w.fresh && len(v.Nums) > 1) {
		return
	}
	if u := unitFor(w.d.File.Text(v.UnitSpan), one); u != "" {
		w.put(mark, v.UnitSpan, u, -1)
	}
}

// second lets a bracketed second unit follow the first.
func (w *writer) second(mark int, v *grammar.Value, x []*big.Rat) {
	s := v.Second
	var y []*big.Rat
	changed := false
	for t := range x {
		like := v.Nums[min(w.index(mark, v, t), len(v.Nums)-1)]
		if x[t] == nil || same(x[t], like.Val) {
			y = append(y, nil)
			continue
		}
		changed = true
		cm := new(big.Rat).Mul(x[t], unitCm(v.Unit))
		y = append(y, new(big.Rat).Quo(tape(cm, s.Unit), unitCm(s.Unit)))
	}
	if changed || w.fresh {
		w.putValue(mark, s, y, -1)
	}
}

// mark edits one marked instruction.
func (w *writer) mark(i int) {
	m := w.d.File.Marks[i]
	if w.fresh && len(m.Only) > 0 && !w.only(i, m) {
		return
	}
	w.literals(i, m)
	switch p := m.Phrase.(type) {
	case *grammar.Shape:
		w.schedule(i, p.Clauses, p.ListSpan)
		w.rest(i, p.Clauses)
		return
	case *grammar.Repeat:
		w.schedule(i, p.Clauses, p.ListSpan)
		w.rest(i, p.Clauses)
		return
	case *grammar.BindOff:
		if len(p.Steps) > 0 {
			w.steps(i, p)
			return
		}
	case *grammar.Turn:
		w.turns(i, p)
		return
	case *grammar.Evenly:
		if w.evenly(i, p) {
			return
		}
	case *grammar.GaugeSaid:
		w.gaugeIn(i, p.Gauge, w.d.GaugeFabric(m))
		return
	case *grammar.SizesSaid:
		w.sizes(i, p.List)
		return
	case *grammar.Layout:
		if w.scattered(i, p) {
			return
		}
	}
	w.rest(i, nil)
}

// rest edits every number of a mark that is not part of the clauses given.
func (w *writer) rest(i int, clauses []*grammar.Clause) {
	for _, id := range w.d.OfMark(i) {
		q := w.d.Quantities[id]
		if !slices.ContainsFunc(clauses, func(c *grammar.Clause) bool { return c.Every == q.Value || c.Times == q.Value }) {
			w.putValue(i, q.Value, w.out[q.ID], q.ID)
		}
	}
}

// literals cuts the per-size values in ties down to the sizes of the result.
func (w *writer) literals(i int, m *grammar.Mark) {
	if !w.fresh {
		return
	}
	for _, t := range m.Ties {
		if e, ok := t.(*grammar.TieExpr); ok {
			w.literalsIn(i, e.Expr)
		}
	}
}

func (w *writer) literalsIn(mark int, e grammar.Expr) {
	switch e := e.(type) {
	case *grammar.Lit:
		if len(e.Value.Nums) > 1 {
			x := make([]*big.Rat, w.n())
			for t := range x {
				x[t] = dsl.Tidy(e.Value, w.c.Targets[t])
			}
			w.putValue(mark, e.Value, x, -1)
		}
	case *grammar.Binary:
		w.literalsIn(mark, e.L)
		w.literalsIn(mark, e.R)
	case *grammar.Neg:
		w.literalsIn(mark, e.X)
	case *grammar.InFabric:
		w.literalsIn(mark, e.X)
	case *grammar.Choice:
		for _, x := range e.Of {
			w.literalsIn(mark, x)
		}
	}
}

// only says whether an instruction for some sizes stays where the sizes were cut down; where none of its sizes is left it
// goes, where all are left it speaks to all.
func (w *writer) only(i int, m *grammar.Mark) bool {
	var left []string
	for _, o := range m.Only {
		for t := range w.c.Targets {
			if grammar.Key(w.d.Sizes[w.c.Targets[t].Base()]) == o.Key {
				left = append(left, w.c.Targets[t].Name)
			}
		}
	}
	if len(left) == 0 {
		w.put(i, m.Span, "", -1)
		return false
	}
	first, last := m.Only[0].Span, m.Only[len(m.Only)-1].Span
	if len(left) == w.n() {
		// `sizes L and XL only:` goes, with what introduces it.
		w.put(i, grammar.Span{Start: m.PhraseSpan.Start, End: w.afterOnly(m)}, "", -1)
		return true
	}
	text := left[0]
	if n := len(left); n > 1 {
		text = strings.Join(left[:n-1], ", ") + " and " + left[n-1]
	}
	w.put(i, grammar.Span{Start: first.Start, End: last.End}, text, -1)
	return true
}

// afterOnly is where the instruction itself begins behind `sizes L and XL only: `.
func (w *writer) afterOnly(m *grammar.Mark) int {
	src := w.d.File.Src
	at := m.Only[len(m.Only)-1].Span.End
	for at < m.PhraseSpan.End && src[at] != ':' && src[at] != ',' {
		at++
	}
	at++
	for at < m.PhraseSpan.End && (src[at] == ' ' || src[at] == '\n') {
		at++
	}
	return min(at, m.PhraseSpan.End)
}

// scattered rewrites a layout that is written size by size: `12 + 12 + 16 (12 + 16 + 16)`.
func (w *writer) scattered(i int, p *grammar.Layout) bool {
	any := false
	for _, x := range p.Parts {
		any = any || x.Count.Scattered
	}
	if !any || !w.fresh {
		return false
	}
	first, last := len(w.d.File.Src), 0
	for _, x := range p.Parts {
		for _, n := range x.Count.Nums {
			first, last = min(first, n.Span.Start), max(last, n.Span.End)
		}
	}
	src := w.d.File.Src
	for last < len(src) && (src[last] == ')' || src[last] == ']') {
		last++
	}
	var texts []string
	for t := range w.c.Targets {
		var parts []string
		for _, x := range p.Parts {
			q, _ := w.d.Of(x.Count)
			parts = append(parts, w.out[q.ID][t].Num().String())
		}
		texts = append(texts, strings.Join(parts, " + "))
	}
	w.put(i, grammar.Span{Start: first, End: last}, w.sp.values(nil, texts), -1)
	return true
}

// gaugeIn lets a gauge in the text follow its fabric.
func (w *writer) gaugeIn(mark int, g grammar.GaugeText, fabric int) {
	w.gaugeEdit(mark, g, w.old[fabric], w.now[fabric])
}

func (w *writer) gaugeEdit(mark int, g grammar.GaugeText, old, now dsl.Gauge) {
	if old.Same(now) {
		return
	}
	over := new(big.Rat).Mul(g.Over.Nums[0].Val, unitCm(g.Over.Unit))
	st := new(big.Rat).Mul(now.Stitches, over)
	var rows *big.Rat
	if g.Rows != nil {
		rows = new(big.Rat).Mul(now.Rows, over)
		if g.Rows.Unit == grammar.Ridges {
			rows.Quo(rows, big.NewRat(2, 1))
		}
	}
	// Over another width, 10 cm or 4 in, the numbers may be rounder: a gauge measured over 10 cm is not a round number to 4 in.
	other, name := big.NewRat(10, 1), "10 cm"
	if g.Over.Unit != grammar.Inches {
		other, name = new(big.Rat).Mul(big.NewRat(4, 1), big.NewRat(254, 100)), "4 in"
	}
	st2 := new(big.Rat).Mul(now.Stitches, other)
	digits := places(st)
	digits2 := places(st2)
	var rows2 *big.Rat
	if rows != nil {
		rows2 = new(big.Rat).Mul(now.Rows, other)
		if g.Rows.Unit == grammar.Ridges {
			rows2.Quo(rows2, big.NewRat(2, 1))
		}
		digits, digits2 = digits+places(rows), digits2+places(rows2)
	}
	before := strings.TrimRight(string(w.d.File.Src[:g.Over.Span.Start]), " \n")
	square := strings.HasSuffix(before, "x") || strings.HasSuffix(before, "×") // `4" x 4"` keeps its two sides
	if digits2 < digits && !square {
		st, rows = st2, rows2
		w.put(mark, g.Over.Span, name, -1)
		if g.Over.Second != nil {
			w.put(mark, g.Over.Second.Span, w.d.File.Text(g.Over.Span), -1)
		}
	}
	w.put(mark, g.Stitches.NumSpan, decimal(st, 4), -1)
	if rows != nil {
		w.put(mark, g.Rows.NumSpan, decimal(rows, 4), -1)
	}
}

// places is the decimals x needs, at most 9.
func places(x *big.Rat) int {
	ten := big.NewRat(10, 1)
	y := new(big.Rat).Set(x)
	for n := 0; n < 9; n++ {
		if y.IsInt() {
			return n
		}
		y.Mul(y, ten)
	}
	return 9
}

func (w *writer) sizes(mark int, l grammar.SizeList) {
	if !w.fresh {
		return
	}
	var texts []string
	for _, t := range w.c.Targets {
		texts = append(texts, t.Name)
	}
	style := l.Style
	if style.Sep == "" {
		style = w.sp.list
	}
	text := texts[0]
	if len(texts) > 1 {
		text += style.Gap + style.Open + strings.Join(texts[1:], style.Sep) + style.Close
	}
	w.put(mark, l.Span, text, -1)
}

// evenly turns an increase that became a decrease round, and says so. It reports whether it wrote the sentence itself.
func (w *writer) evenly(i int, p *grammar.Evenly) bool {
	q, ok := w.d.Of(p.Count)
	if !ok || p.InEvery != nil {
		return false
	}
	var less, more bool
	for t := range w.c.Targets {
		switch w.out[q.ID][t].Sign() {
		case -1:
			less = true
		case 1:
			more = true
		}
	}
	if !less {
		return false
	}
	verbs := [2]string{"decrease", "increase"}
	is := verbs[0]
	if p.Increase {
		is = verbs[1]
	}
	text := w.d.File.Text(p.VerbSpan)
	if !more {
		// All sizes turn round: the sentence stays, its verb changes.
		for t := range w.c.Targets {
			w.out[q.ID][t].Abs(w.out[q.ID][t])
		}
		w.put(i, p.VerbSpan, turned(text, p.Increase), -1)
		w.rewritten[i] = true
		w.warn("%s: what was to %s is now the other way about.", w.spot(i), is)
		return false
	}
	var after []string
	for t, s := range w.c.solved {
		n := int64(0)
		if st := s.index.stage[i]; st != nil {
			n = st.Count.At(w.at(t))
		}
		after = append(after, fmt.Sprint(n))
	}
	m := w.d.File.Marks[i]
	upper := ""
	if text != "" && text[0] >= 'A' && text[0] <= 'Z' {
		upper = "I"
	}
	first := "increase"
	if upper != "" {
		first = "Increase"
	}
	end := ""
	if m.SpelledOut {
		end = ", spelled out"
	}
	w.put(i, m.PhraseSpan, first+" or decrease evenly to "+w.sp.values(nil, after)+" sts"+end, q.ID)
	w.rewritten[i] = true
	w.warn("%s: some sizes now increase and others decrease, so the sentence says to what number.", w.spot(i))
	return true
}

// turned is the opposite of a verb in the author's own spelling.
func turned(verb string, increase bool) string {
	pairs := [][2]string{{"increasing", "decreasing"}, {"increase", "decrease"}, {"inc", "dec"}}
	low := strings.ToLower(verb)
	for _, p := range pairs {
		from, to := p[0], p[1]
		if !increase {
			from, to = to, from
		}
		if strings.HasPrefix(low, from) {
			if verb[0] >= 'A' && verb[0] <= 'Z' {
				to = strings.ToUpper(to[:1]) + to[1:]
			}
			return to + verb[len(from):]
		}
	}
	if increase {
		return "decrease"
	}
	return "increase"
}

func fold(s string) string { return strings.Join(strings.Fields(s), " ") }

// block edits the draft block: gauges, sizes, measures.
func (w *writer) block() {
	const block = -1
	b := w.d.Block
	for i, f := range w.d.Fabrics {
		if f.Of != i {
			continue // of a place, which the block does not name
		}
		w.gaugeEdit(block, f.Def.Gauge, w.old[i], w.now[i])
		if u := w.unwashed(i); f.Unwashed != nil && u != nil {
			over := new(big.Rat).Mul(f.Def.Unwashed.Over.Nums[0].Val, unitCm(f.Def.Unwashed.Over.Unit))
			w.gaugeEdit(block, *f.Def.Unwashed, *f.Unwashed, dsl.Gauge{Stitches: hundredth(u.Stitches, over), Rows: hundredth(u.Rows, over)})
		} else if f.Unwashed != nil && !w.old[i].Same(w.now[i]) {
			// What the cloth does in washing is taken to stay the same.
			over := new(big.Rat).Mul(f.Def.Unwashed.Over.Nums[0].Val, unitCm(f.Def.Unwashed.Over.Unit))
			scaled := dsl.Gauge{
				Stitches: hundredth(new(big.Rat).Mul(f.Unwashed.Stitches, new(big.Rat).Quo(w.now[i].Stitches, w.old[i].Stitches)), over),
				Rows:     hundredth(new(big.Rat).Mul(f.Unwashed.Rows, new(big.Rat).Quo(w.now[i].Rows, w.old[i].Rows)), over),
			}
			w.gaugeEdit(block, *f.Def.Unwashed, *f.Unwashed, scaled)
			w.assume("The unwashed gauge of %s is taken to change as its washed gauge does.", f.Name)
		}
	}
	if !w.fresh {
		return
	}
	if b.Sizes != nil {
		w.sizes(block, *b.Sizes)
	}
	for _, m := range w.d.Measures {
		if x, ok := w.r.Measures[m.Name.Key]; ok {
			unit := firstUnit(m.Expr)
			text := ""
			switch {
			case m.Kind != dsl.Length:
				text = decimal(x, 6)
			case unit == grammar.Inches:
				text = w.sp.fraction(new(big.Rat).Quo(x, unitCm(unit)), w.sp.vulgar) + " in"
			case unit == grammar.Millimetres:
				text = decimal(new(big.Rat).Mul(x, big.NewRat(10, 1)), 6) + " mm"
			default:
				text = decimal(x, 6) + " cm"
			}
			w.put(block, m.Expr.ExprSpan(), text, -1)
			continue
		}
		w.literalsIn(block, m.Expr)
	}
}

// firstUnit is the unit an expression is written in.
func firstUnit(e grammar.Expr) grammar.Unit {
	switch e := e.(type) {
	case *grammar.Lit:
		return e.Value.Unit
	case *grammar.Binary:
		if u := firstUnit(e.L); u != grammar.NoUnit && u != grammar.Percent {
			return u
		}
		return firstUnit(e.R)
	case *grammar.Neg:
		return firstUnit(e.X)
	case *grammar.Choice:
		return firstUnit(e.Of[0])
	}
	return grammar.NoUnit
}

// measures lists every measure before and after.
func (c *converter) measures() {
	for i, m := range c.d.Measures {
		ch := MeasureChange{Name: m.Name.Text, Length: m.Kind == dsl.Length, Unit: c.unitOf(m.Expr, 0)}
		if firstUnit(m.Expr) == grammar.Percent {
			ch.Unit = grammar.Percent
		}
		for s := range c.d.Sizes {
			x, _ := c.d.MeasureAt(i, c.d.DraftedSize(s), c.old)
			ch.From = append(ch.From, x)
		}
		for _, t := range c.c.Targets {
			x, err := c.d.MeasureAt(i, t, c.now)
			if err != nil {
				c.fail(m.Def.Span, "", "%s has no value for this wearer: %s", m.Name.Text, err)
				x = new(big.Rat)
			}
			ch.To = append(ch.To, x)
		}
		c.c.Measures = append(c.c.Measures, ch)
	}
}

func (c *converter) unitOf(e grammar.Expr, depth int) grammar.Unit {
	if u := firstUnit(e); u.IsLength() {
		return u
	}
	if depth > 20 {
		return grammar.Centimetres
	}
	var found grammar.Unit
	grammar.EachName(e, func(n grammar.Word) {
		for _, m := range c.d.Measures {
			if m.Name.Key == n.Key && found == grammar.NoUnit {
				found = c.unitOf(m.Expr, depth+1)
			}
		}
	})
	if found.IsLength() {
		return found
	}
	return grammar.Centimetres
}
