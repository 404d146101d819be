package rewrite

import (
	"bytes"
	"fmt"
	"math/big"
	"sort"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// numbers lists every number of a marked instruction, before and after, with the size wished for and what it measures.
func (w *writer) numbers() {
	for _, q := range w.d.Quantities {
		if q.Hidden() || q.Value.NumSpan.End <= q.Value.NumSpan.Start {
			continue
		}
		m := w.d.File.Marks[q.Mark]
		n := Number{Quantity: q.ID, Name: q.Name, Mark: q.Mark, Span: q.Value.NumSpan, Phrase: q.Role, Kind: q.Kind, Unit: q.Value.Unit, Tied: q.Tied, To: w.out[q.ID]}
		if q.Value.Scattered {
			n.Span = q.Value.Nums[0].Span
		}
		if m.Heading >= 0 {
			n.Piece = w.d.File.Headings[m.Heading].Text
		}
		for s := range w.d.Sizes {
			n.From = append(n.From, numberAt(w.d, q, s))
		}
		n.Wanted, n.Measures = make([]*big.Rat, w.n()), make([]*big.Rat, w.n())
		for t := range w.c.Targets {
			n.Wanted[t], n.Measures[t], n.Assumed = w.measured(q, t, n.Assumed)
			n.Changed = n.Changed || w.changedAt(q, n.To[t], t)
		}
		w.swatched(&n, q)
		w.c.Numbers = append(w.c.Numbers, n)
	}
	sort.SliceStable(w.c.Numbers, func(i, j int) bool {
		a, b := w.c.Numbers[i], w.c.Numbers[j]
		if a.Mark != b.Mark {
			return a.Mark < b.Mark
		}
		return a.Span.Start < b.Span.Start
	})
}

// swatched adds the rows of a length and how long they are on the needles.
func (w *writer) swatched(n *Number, q *dsl.Quantity) {
	if len(w.swatches) == 0 || q.Kind != dsl.Length {
		return
	}
	for t, s := range w.c.solved {
		i, ok := s.byMark().length[q.ID]
		if !ok {
			continue
		}
		rows, cm := w.onNeedles(&s.run.Lengths[i], t)
		if rows == nil {
			n.Rows, n.OnNeedles = nil, nil
			return
		}
		if n.Rows == nil {
			n.Rows, n.OnNeedles = make([]*big.Rat, w.n()), make([]*big.Rat, w.n())
		}
		n.Rows[t], n.OnNeedles[t] = rows, cm
		if st := s.byMark().stage[q.Mark]; st != nil {
			n.Rounds = !st.Flat
		}
	}
}

// changedAt says whether a number differs from what is drafted for the size a target is taken from.
func (w *writer) changedAt(q *dsl.Quantity, x *big.Rat, t int) bool {
	if x == nil {
		return false
	}
	v := q.Value
	return v.Nums[min(w.index(q.Mark, v, t), len(v.Nums)-1)].Val.Cmp(x) != 0
}

// numberAt is a number as drafted for a size, in its own unit.
func numberAt(d *dsl.Draft, q *dsl.Quantity, size int) *big.Rat {
	v := q.Value
	if len(v.Nums) == 1 {
		return v.Nums[0].Val
	}
	if size < len(v.Nums) {
		return v.Nums[size].Val
	}
	return v.Nums[len(v.Nums)-1].Val
}

// measured is the size wished for and the size it comes to of a number that has one.
func (w *writer) measured(q *dsl.Quantity, t int, assumed bool) (wanted, is *big.Rat, also bool) {
	s := w.c.solved[t]
	if q.Kind == dsl.Length {
		wanted, _ = w.lengthOf(q, s.target)
		if i, ok := s.byMark().length[q.ID]; ok {
			l := &s.run.Lengths[i]
			h := l.Before.Cm(w.at(t), w.now)
			h.Add(h, new(big.Rat).Quo(rat(w.value(l.Rows, t)), w.now[l.Fabric].Rows))
			return s.length[i], h, assumed || w.c.Gauges[l.Fabric].Assumed
		}
		if i, ok := s.byMark().height[q.ID]; ok {
			return wanted, s.run.Heights[i].Height.Cm(w.at(t), w.now), assumed
		}
		return wanted, nil, assumed
	}
	best, ok := s.byMark().score[q.ID]
	if !ok {
		return nil, nil, assumed
	}
	sc := &s.run.Scores[best]
	return s.wanted[best], sc.Cm(w.at(t), w.now), assumed || w.c.Gauges[sc.Fabric].Assumed
}

// finish sorts the edits, applies them once, and cuts each instruction into pieces for the reader.
func (w *writer) finish() {
	var edits []Edit
	owner := map[int]int{} // start of an edit → quantity
	for _, es := range w.edits {
		for _, e := range es {
			edits = append(edits, e.Edit)
			owner[e.Start] = e.quantity
		}
	}
	sort.Slice(edits, func(i, j int) bool { return edits[i].Start < edits[j].Start })
	var keep []Edit
	for _, e := range edits {
		if n := len(keep); n > 0 && keep[n-1] == e {
			continue
		}
		keep = append(keep, e)
	}
	out, err := Apply(w.d.File.Src, keep)
	if err != nil {
		w.fail(w.d.Block.Span, "this is a slip of the tool: please report it with the draft", "the new draft could not be put together: %s", err)
		return
	}
	w.c.Edits, w.c.New = keep, out
	w.c.Unchanged = bytes.Equal(out, w.d.File.Src)
	at := map[int]int{}
	for i, n := range w.c.Numbers {
		at[n.Quantity] = i
	}
	k := 0
	for i, m := range w.d.File.Marks {
		for k < len(keep) && keep[k].End <= m.Span.Start && keep[k].Start < m.Span.Start {
			k++
		}
		w.c.Marks = append(w.c.Marks, w.text(i, m, keep[k:], owner, at))
	}
}

// text is an instruction as the reader sees it.
func (w *writer) text(i int, m *grammar.Mark, edits []Edit, owner map[int]int, number map[int]int) MarkText {
	out := MarkText{Mark: i, Rewritten: w.rewritten[i]}
	src := w.d.File.Src
	from, to := m.PhraseSpan.Start, m.PhraseSpan.End
	pos := from
	plain := func(end int) {
		if end > pos {
			out.Pieces = append(out.Pieces, Piece{Text: string(src[pos:end]), Number: -1})
			pos = end
		}
	}
	for _, e := range edits {
		if e.Start >= to && !(e.Start == to && e.End == to) {
			break
		}
		if e.Start == m.Span.Start && e.End == m.Span.End {
			out.Pieces, out.Changed = nil, true
			return out // the instruction is for sizes that are gone
		}
		if e.Start < from {
			continue
		}
		plain(e.Start)
		n := -1
		if q := owner[e.Start]; q >= 0 {
			if x, ok := number[q]; ok {
				n = x
			}
		}
		out.Pieces = append(out.Pieces, Piece{Text: e.New, Was: string(src[e.Start:e.End]), Changed: true, Number: n})
		out.Changed = true
		pos = e.End
	}
	plain(to)
	for t, s := range w.c.solved {
		rows, after := int64(0), int64(0)
		if st := s.byMark().stage[i]; st != nil {
			rows, after = st.Rows.At(w.at(t)), st.Count.At(w.at(t))
		}
		out.Rows = append(out.Rows, rows)
		out.After = append(out.After, after)
	}
	if m.SpelledOut {
		out.Spelled = w.spelled(i, m)
	}
	return out
}

// Apply puts edits into text. It never changes src; edits must be in order, inside it and not overlapping.
func Apply(src []byte, edits []Edit) ([]byte, error) {
	var out bytes.Buffer
	pos := 0
	for _, e := range edits {
		if e.Start < pos || e.End < e.Start || e.End > len(src) {
			return nil, fmt.Errorf("edits at %d–%d and before it overlap or lie outside", e.Start, e.End)
		}
		out.Write(src[pos:e.Start])
		out.WriteString(e.New)
		pos = e.End
	}
	out.Write(src[pos:])
	return out.Bytes(), nil
}

// spelled writes a spread out, one text a target.
func (w *writer) spelled(i int, m *grammar.Mark) []string {
	var out []string
	for t, s := range w.c.solved {
		st := s.byMark().stage[i]
		text := ""
		switch p := m.Phrase.(type) {
		case *grammar.Evenly:
			if st != nil {
				after := st.Count.At(w.at(t))
				before := after - w.evenChange(i, p, t)
				text = SpellEvenly(before, after, st.Flat)
			}
		case *grammar.Space:
			text = w.spellSpace(p, t)
		}
		out = append(out, text)
	}
	return out
}

// evenChange is what an even increase or decrease adds to the count in target t.
func (w *writer) evenChange(i int, p *grammar.Evenly, t int) int64 {
	if s := w.c.solved[t].byMark().strip[i]; s != nil {
		return s.To.At(w.at(t)) - s.From.At(w.at(t))
	}
	return 0
}

// Gaps spreads n changes over total stitches so that no gap differs from another by more than one: in the round n gaps,
// one before each change; flat half a gap at each end. It returns the plain stitches before each change and, last, those
// after the last one (0 in the round).
func Gaps(total, n int64, flat bool) []int64 {
	if n <= 0 {
		return []int64{total}
	}
	out := make([]int64, 0, n+1)
	var at int64
	for k := int64(1); k <= n; k++ {
		var end int64
		if flat {
			// the k-th change stands in the middle of the k-th of n equal stretches
			end = ((2*k-1)*total + n) / (2 * n)
		} else {
			end = k * total / n
		}
		out = append(out, end-at)
		at = end
	}
	return append(out, total-at)
}

// SpellEvenly writes an even increase (m1) or decrease (k2tog) over a row out: `k4, (k2tog, k8) 9 times, k2tog, k4`.
func SpellEvenly(before, after int64, flat bool) string {
	if before == after || before <= 0 {
		return ""
	}
	if after < before {
		n := before - after
		if 2*n > before {
			return "" // more than a row of k2tog can take away
		}
		return runs(Gaps(before-2*n, n, flat), "k2tog")
	}
	n := after - before
	if n > before {
		return ""
	}
	return runs(Gaps(before, n, flat), "m1")
}

// runs writes gaps and changes out, folding what repeats: `k4, (k2tog, k8) 9 times`, `(k16, m1, (k17, m1) 2 times) 4 times`.
func runs(gaps []int64, change string) string {
	last := gaps[len(gaps)-1]
	gaps = gaps[:len(gaps)-1]
	var out []string
	// Half a gap at the start of a flat row stands by itself where the rest repeats.
	best := fold1(gaps, change)
	if len(gaps) > 1 {
		if with := append(fold1(gaps[:1], change), fold1(gaps[1:], change)...); len(strings.Join(with, ", ")) < len(strings.Join(best, ", ")) {
			best = with
		}
	}
	out = append(out, best...)
	if last > 0 {
		out = append(out, fmt.Sprintf("k%d", last))
	}
	return strings.Join(out, ", ")
}

// fold1 folds a list of gaps: as the whole repeated if it has a period, else run by run.
func fold1(gaps []int64, change string) []string {
	n := len(gaps)
	for p := 2; p <= n/2; p++ {
		if n%p != 0 {
			continue
		}
		repeats := true
		for i := p; i < n && repeats; i++ {
			repeats = gaps[i] == gaps[i-p]
		}
		if repeats && !equal(gaps[:p]) {
			return []string{fmt.Sprintf("(%s) %d times", strings.Join(byRun(gaps[:p], change), ", "), n/p)}
		}
	}
	return byRun(gaps, change)
}

func equal(gaps []int64) bool {
	for _, g := range gaps {
		if g != gaps[0] {
			return false
		}
	}
	return true
}

func byRun(gaps []int64, change string) []string {
	var out []string
	for i := 0; i < len(gaps); {
		j := i
		for j < len(gaps) && gaps[j] == gaps[i] {
			j++
		}
		one := change
		if gaps[i] > 0 {
			one = fmt.Sprintf("k%d, %s", gaps[i], change)
		}
		if j-i > 1 {
			one = fmt.Sprintf("(%s) %d times", one, j-i)
		}
		out = append(out, one)
		i = j
	}
	return out
}

// spellSpace writes the places of buttonholes out: the plain stitches or rows between them.
func (w *writer) spellSpace(p *grammar.Space, t int) string {
	base := w.c.Targets[t].Base()
	get := func(v *grammar.Value, otherwise int64) int64 {
		if q, ok := w.d.Of(v); ok {
			if w.out[q.ID][t] != nil && w.out[q.ID][t].IsInt() {
				return w.out[q.ID][t].Num().Int64()
			}
			return q.Drafted[base]
		}
		return otherwise
	}
	n, over, each := get(p.Count, 0), get(p.Over, 0), get(p.Each, 1)
	before, after := get(p.Before, -1), get(p.After, -1)
	if n <= 0 {
		return ""
	}
	gaps := Places(n, over, each, before, after, p.EndsIncluded)
	if gaps == nil {
		return ""
	}
	unit := "rows"
	if q, ok := w.d.Of(p.Over); ok && q.Kind == dsl.Stitches {
		unit = "sts"
	}
	what := strings.TrimSuffix(p.What.Text, "s")
	var parts []string
	for i, g := range gaps {
		if i == len(gaps)-1 {
			parts = append(parts, fmt.Sprintf("%d %s", g, unit))
			break
		}
		parts = append(parts, fmt.Sprintf("%d %s, %s", g, unit, what))
	}
	return strings.Join(parts, ", ")
}

// Places spaces n things of `each` stitches or rows over a length of `over`: the plain ones before the first, between, and
// after the last. before and after are −1 where they are not given: then with ends included the first and last stand at
// the very ends, otherwise the ends get gaps like the rest. Gaps between differ by one at most. Nil where they do not fit.
func Places(n, over, each, before, after int64, endsIncluded bool) []int64 {
	plain := over - n*each
	if plain < 0 || n < 1 {
		return nil
	}
	gaps := n + 1
	fixed := int64(0)
	if endsIncluded && before < 0 {
		before = 0
	}
	if endsIncluded && after < 0 {
		after = 0
	}
	if before >= 0 {
		gaps--
		fixed += before
	}
	if after >= 0 {
		gaps--
		fixed += after
	}
	if plain < fixed {
		return nil
	}
	plain -= fixed
	if gaps == 0 {
		if n == 1 {
			return []int64{before, after + plain}
		}
		return nil
	}
	var out []int64
	if before >= 0 {
		out = append(out, before)
	}
	for k := int64(0); k < gaps; k++ {
		out = append(out, (k+1)*plain/gaps-k*plain/gaps)
	}
	if after >= 0 {
		out = append(out, after)
	}
	return out
}

// soften tells of rules that were left because keeping them would have cost more.
func (c *converter) soften() {
	for _, s := range c.c.solved {
		for _, r := range s.given {
			m := c.d.File.Marks[r.Mark]
			line, _ := c.d.File.Position(m.Span.Start)
			if _, ok := m.Phrase.(*grammar.Evenly); ok {
				continue // told where the sentence is turned round
			}
			in := ""
			if len(c.c.Targets) > 1 {
				in = "Size " + s.target.Name + ", "
			}
			c.warn("%s", upper(fmt.Sprintf("%sline %d: %s (`%s`).", in, line, r.Soft, fold(c.d.File.Text(m.PhraseSpan)))))
		}
	}
}

// left tells of numbers in the prose that are not marked: nobody should find an old count in a new pattern.
func (c *converter) left() {
	if c.c.Unchanged || len(c.d.File.Loose) == 0 {
		return
	}
	var said []string
	for i, l := range c.d.File.Loose {
		if i == 8 {
			said = append(said, fmt.Sprintf("and %d more", len(c.d.File.Loose)-i))
			break
		}
		line, _ := c.d.File.Position(l.Span.Start)
		said = append(said, fmt.Sprintf("%s (line %d)", strings.Trim(l.Text, " `"), line))
	}
	c.warn("Numbers in the text that are not marked stay as drafted, beside others that changed: %s.", strings.Join(said, ", "))
}

// grading notes small steps between sizes that run against the grading; they are not mended.
func (c *converter) grading() {
	if len(c.c.Targets) < 2 || c.c.Unchanged {
		return
	}
	for _, n := range c.c.Numbers {
		if n.Kind != dsl.Stitches || !n.Changed || len(n.From) != len(n.To) || n.Phrase == "evenly" {
			continue
		}
		for t := 1; t < len(n.To); t++ {
			if n.To[t] == nil || n.To[t-1] == nil || n.To[t].Sign() == 0 || n.To[t-1].Sign() == 0 {
				continue
			}
			was := n.From[t].Cmp(n.From[t-1])
			is := n.To[t].Cmp(n.To[t-1])
			if was*is < 0 {
				line, _ := c.d.File.Position(n.Span.Start)
				c.warn("Line %d: %s runs against the grading from %s to %s (%s, then %s); it is what adds up best in each size.", line, n.Phrase,
					c.c.Targets[t-1].Name, c.c.Targets[t].Name, n.To[t-1].RatString(), n.To[t].RatString())
				break
			}
		}
	}
}

// cautions are where the work can hurt someone. Common practice, no source.
func (c *converter) cautions() {
	low := strings.ToLower(string(c.d.File.Src))
	has := func(words ...string) bool {
		for _, w := range words {
			if containsWord(low, w) {
				return true
			}
		}
		return false
	}
	child := has("baby", "infant", "newborn", "toddler", "child", "children", "child's", "babies", "months")
	if child && has("cord", "cords", "tie", "ties", "drawstring", "ribbon", "loop", "loops", "button", "buttons", "pompom", "i-cord") {
		c.c.Cautions = append(c.c.Cautions, "For infants and small children: cords, ties, loops, buttons and pompoms can strangle or choke. Leave them off, or follow the safety rules for children's clothing where you live.")
	}
	if child && has("float", "floats", "stranded", "fair isle", "colourwork", "colorwork") {
		c.c.Cautions = append(c.c.Cautions, "Long floats inside small garments catch fingers and toes: keep them short or line them, and follow the safety rules for children's clothing where you live.")
	}
	for i, g := range c.c.Gauges {
		was := new(big.Rat).Mul(g.From.Stitches, big.NewRat(115, 100))
		if g.To.Stitches.Cmp(was) > 0 && !g.Assumed {
			_ = i
			c.c.Cautions = append(c.c.Cautions, fmt.Sprintf("The gauge of %s is much tighter than drafted. Knitting tightly for long can hurt hands and wrists: rest often, try larger needles or a finer yarn, and ask a professional about pain that stays.", g.Fabric))
		}
	}
}

func containsWord(s, w string) bool {
	for at := 0; ; {
		i := strings.Index(s[at:], w)
		if i < 0 {
			return false
		}
		i += at
		j := i + len(w)
		if (i == 0 || !letter(s[i-1])) && (j == len(s) || !letter(s[j])) {
			return true
		}
		at = j
	}
}

func letter(b byte) bool { return b >= 'a' && b <= 'z' || b == '\'' }
