package dsl

import (
	"fmt"
	"math/big"
	"strings"

	"gaugewright/grammar"
)

func panelNeeds(after, used, have int64) string {
	if after == 0 {
		return fmt.Sprintf("%d sts are needed for the panel, but %d are in hand", used, have)
	}
	return fmt.Sprintf("%d + %d = %d sts are needed for what stands before the panel and the panel, but %d are in hand", after, used, used+after, have)
}

func (w *walker) space(p *grammar.Space) {
	id, ok := w.q(p.Over)
	if !ok || w.now == nil && w.d.Quantities[id].Kind != Rows {
		return
	}
	w.ties(id)
	holes, each := w.num(p.Count), max(1, w.num(p.Each))
	if over := w.v(id); holes*each > over {
		w.fault(grammar.Fault, "space", w.m().PhraseSpan, w.spaceNeeds(p, holes, each, over), "", "make fewer or smaller ones, or spread them further")
	}
	least := holes * each
	w.relate(AtLeast, of(id).Add(-least), 0, "all of "+w.phrase()+" fit")
	if w.d.Quantities[id].Kind == Stitches && w.now != nil {
		if w.v(id) == w.at(w.now.count) {
			w.relate(Zero, of(id).Plus(w.now.count, -1), 0, w.phrase()+" goes over all the stitches in hand")
			return
		}
		if w.v(id) > w.at(w.now.count) {
			sum, rel := w.story()
			w.fault(grammar.Fault, "space", w.m().PhraseSpan, fmt.Sprintf("%d sts are spread over, but %d are in hand", w.v(id), w.at(w.now.count)), sum, fmt.Sprintf("spread over %d sts, or mend the count before", w.at(w.now.count)), rel...)
		}
		w.relate(AtLeast, w.now.count.Plus(of(id), -1), 0, w.phrase()+" fits in what is in hand")
		w.scoreWidth(of(id), w.tieOf(id))
		return
	}
	if w.d.Quantities[id].Kind == Rows {
		if rows, ok := w.besideRows(id); ok {
			w.relate(Zero, of(id).Plus(of(rows), -1), 0, w.phrase()+" goes over the rows worked beside it")
			return
		}
		w.scoreRows(of(id), w.tieOf(id))
		return
	}
	w.scoreWidth(of(id), w.tieOf(id))
}

func (w *walker) spaceNeeds(p *grammar.Space, holes, each, over int64) string {
	unit := "sts"
	if q, ok := w.d.Of(p.Over); ok && q.Kind == Rows {
		unit = "rows"
	}
	if p.Each == nil {
		return fmt.Sprintf("%d %s are to be spread over %d %s", holes, p.What.Text, over, unit)
	}
	return fmt.Sprintf("%d %s of %d %s need %d %s, but are spread over %d", holes, p.What.Text, each, unit, holes*each, unit, over)
}

// besideRows is the rows worked just before or after that a spacing goes over: the same number in every size.
func (w *walker) besideRows(id int) (int, bool) {
	for _, i := range []int{w.mark - 1, w.mark + 1, w.mark - 2, w.mark + 2} {
		if i < 0 || i >= len(w.d.File.Marks) {
			continue
		}
		if p, ok := w.d.File.Marks[i].Phrase.(*grammar.Work); ok && p.Repeats == nil {
			if q, ok := w.q(p.Rows); ok && w.d.equalEverywhere(q, id) {
				return q, true
			}
		}
	}
	return -1, false
}

func (w *walker) layout(p *grammar.Layout) {
	sum, named := whole(0), false
	for j := range p.Parts {
		id, ok := w.q(p.Parts[j].Count)
		if !ok {
			continue
		}
		sum = sum.Plus(of(id), 1)
		named = named || p.Parts[j].Name != nil
	}
	if !w.need("lay out") {
		return
	}
	w.settle(false)
	h := w.now
	if h.loose {
		h.count, h.loose = sum, false
		h.story = []change{{w.mark, w.at(sum), "laid out"}}
	}
	total := h.count
	if len(h.meanwhile) > 0 {
		total = total.Add(w.partly())
	}
	if h.sides == 2 && w.at(sum) == 2*w.at(total) {
		total = total.Times(2)
	}
	if w.at(sum) != w.at(total) {
		text, rel := w.story()
		w.fault(grammar.Fault, "sum", w.m().PhraseSpan, fmt.Sprintf("%s = %d, but %d sts are in hand", w.parts(p.Parts), w.at(sum), w.at(total)), text, apart(w.at(sum), w.at(total)), rel...)
	}
	if !named && len(h.parts) == 0 {
		l := Laid{Mark: w.mark, Total: total, Prev: -1, Grown: h.grown, Join: h.joined - 1}
		for j := range p.Parts {
			if id, ok := w.q(p.Parts[j].Count); ok {
				l.Parts = append(l.Parts, id)
			}
		}
		if h.laid >= 0 && !h.grownOdd && len(h.meanwhile) == 0 && len(w.run.Layouts[h.laid].Parts) == len(l.Parts) {
			l.Prev, l.Since = h.laid, h.grown
		}
		w.run.Layouts = append(w.run.Layouts, l)
		h.laid, h.grown, h.grownOdd = len(w.run.Layouts)-1, nil, len(h.meanwhile) > 0
		return
	}
	w.relate(Zero, sum.Plus(total, -1), 0, w.phrase()+" adds up to what is in hand")
	if len(h.parts) == len(p.Parts) && !named {
		for j := range p.Parts {
			id, _ := w.q(p.Parts[j].Count)
			w.d.Quantities[id].Shared = false
			if !w.same(of(id), h.parts[j].n, w.phrase()+" follows the parts laid out before") {
				w.fault(grammar.Fault, "part", w.numSpan(w.d.Quantities[id]), fmt.Sprintf("%d sts are stated for %s, but it has %d", w.v(id), h.parts[j].name, w.at(h.parts[j].n)), "", "mend this part, or the shaping since it was laid out")
			}
			h.parts[j].n = of(id)
		}
		return
	}
	h.parts = nil
	for j := range p.Parts {
		id, ok := w.q(p.Parts[j].Count)
		if !ok {
			continue
		}
		w.d.Quantities[id].Shared = false
		name := ""
		if p.Parts[j].Name != nil {
			name = p.Parts[j].Name.Key
		}
		h.parts = append(h.parts, namedPart{name, of(id)})
		w.ties(id)
		w.scoreWidth(of(id), w.tieOf(id))
		w.equalParts(id, fmt.Sprint("layout ", w.mark))
	}
}

// parts is the sum of a division or a layout, written out.
func (w *walker) parts(ps []grammar.Part) string {
	var out []string
	for j := range ps {
		out = append(out, fmt.Sprint(w.num(ps[j].Count)))
	}
	return strings.Join(out, " + ")
}

func apart(a, b int64) string {
	d := a - b
	if d < 0 {
		d = -d
	}
	return fmt.Sprintf("change a part, or the count before it: they are %d apart", d)
}

// partly is what unfinished shaping has changed so far, at the drafted numbers.
func (w *walker) partly() int64 {
	var n int64
	for _, r := range w.now.meanwhile {
		n += r.perTime * r.sched.Done(w.at(w.elapsed(r.from)), w.v, w.quickFirst(r.sched))
	}
	return n
}

// quickFirst says whether a schedule shapes fast first, as drafted; one with a single clause does.
func (w *walker) quickFirst(s *Schedule) bool { return QuickFirst(w.d, s, w.size) }

// QuickFirst says whether, in a size as drafted, the quicker of the intervals of a schedule comes first.
func QuickFirst(d *Draft, s *Schedule, size int) bool {
	var first int64
	for _, c := range s.Clauses {
		n := int64(1)
		if id, ok := d.byValue[c.Times]; ok && c.Times != nil {
			n = d.Quantities[id].Drafted[size]
		}
		if n == 0 {
			continue
		}
		a := d.Interval(c, size)
		if first == 0 {
			first = a
		} else if a != first {
			return a > first
		}
	}
	return true
}

// Interval is the drafted interval of a clause in rows.
func (d *Draft) Interval(c *grammar.Clause, size int) int64 {
	if c.Every != nil {
		if id, ok := d.byValue[c.Every]; ok {
			return max(1, d.Quantities[id].Drafted[size])
		}
	}
	if c.Step > 0 {
		return int64(c.Step)
	}
	return 1
}

func (w *walker) statement(p *grammar.Statement) {
	id, ok := w.q(p.Value)
	if !ok {
		return
	}
	q := w.d.Quantities[id]
	switch q.Kind {
	case Stitches:
		w.stitchesStated(p, id)
	case Rows:
		w.rowsStated(p, id)
	case Length:
		w.lengthStated(p, id)
	}
}

func (w *walker) stitchesStated(p *grammar.Statement, id int) {
	if !w.need("count") {
		w.begin(of(id), "stated", CastOn) // one slip is one report
		w.now.taken = true
		w.builtIn("cast-on")
		return
	}
	w.settle(false)
	h := w.now
	n := w.v(id)
	if len(h.meanwhile) > 0 {
		have := w.at(h.count) + w.partly()
		var parts []Partial
		for _, r := range h.meanwhile {
			parts = append(parts, Partial{Schedule: r.sched, Elapsed: w.elapsed(r.from), PerTime: r.perTime})
		}
		w.run.Late = append(w.run.Late, Late{Quantity: id, Base: h.count, Running: parts})
		w.d.Quantities[id].Shared = true
		if n != have {
			sum, rel := w.story()
			w.fault(grammar.Fault, "sum", w.numSpan(w.d.Quantities[id]), fmt.Sprintf("%d sts are stated, but %d are in hand", n, have), sum+", and "+strings.Replace(fmt.Sprint(w.partly()), "-", "−", 1)+" so far from the shaping meanwhile", "correct the number that is wrong", rel...)
		} else {
			r := h.meanwhile[0]
			left := w.total(r.sched) - r.sched.Done(w.at(w.elapsed(r.from)), w.v, w.quickFirst(r.sched))
			w.fault(grammar.Note, "left", w.m().PhraseSpan, fmt.Sprintf("the shaping that runs meanwhile has %d times still to go here", left), "", "", w.place(r.mark, "it began here"))
		}
		return
	}
	if h.sides == 2 && n == 2*w.at(h.count) && !p.EachSide {
		w.same(of(id), h.count.Times(2), w.phrase()+" counts both sides")
		w.ties(id)
		return
	}
	if h.sides == 1 && p.EachSide && 2*n == w.at(h.count) {
		w.same(of(id).Times(2), h.count, w.phrase()+" is half of what is in hand")
		w.ties(id)
		return
	}
	pending := h.pending
	w.state(id, "")
	w.ties(id)
	tie := w.tieOf(id)
	if pending >= 0 && w.run.Scores[pending].Tie < 0 {
		s := &w.run.Scores[pending]
		s.Expr, s.Tie, s.Panels = of(id), tie, h.panels
		if w.m().Fabric != nil {
			s.Fabric = w.fabricOf(w.m())
		}
		if tie >= 0 {
			s.Mark = w.mark
		}
		h.pending = -1
		return
	}
	if tie >= 0 {
		w.scoreCount(tie)
	}
	h.pending = -1
}

func (w *walker) total(s *Schedule) int64 {
	var n int64
	for _, g := range s.Segments {
		n += w.v(g.N)
	}
	return n
}

// rowsStated is rows that are said: those of the last instruction, or of the piece, or since any of its places.
func (w *walker) rowsStated(p *grammar.Statement, id int) {
	w.ties(id)
	if w.now == nil {
		return
	}
	n := w.v(id)
	h := w.now
	piece := h.height.since(h.start).rows()
	var sums []Lin
	from := ""
	if p.From != nil {
		l, ok := w.lookup(p.From)
		if !ok {
			return
		}
		sums, from = []Lin{h.height.since(l.height).rows()}, " from "+p.From.Text
	} else {
		if len(h.past) > 0 {
			sums = append(sums, h.past[len(h.past)-1].lrows)
		}
		sums = append(sums, piece)
		here := w.m().Heading
		section := whole(0)
		for i := len(h.past) - 1; i >= 0; i-- {
			section = section.Plus(h.past[i].lrows, 1)
			m := w.d.File.Marks[h.past[i].mark]
			begins := i == 0 || w.d.File.Marks[h.past[i-1].mark].Heading != m.Heading
			for _, t := range m.Ties {
				if _, named := t.(*grammar.TieAs); named {
					begins = true
				}
			}
			if m.Heading == here && begins {
				sums = append(sums, section)
			}
		}
	}
	for _, s := range sums {
		if w.at(s) == n {
			w.same(of(id), s, w.phrase()+" counts the rows worked")
			return
		}
	}
	if len(h.past) == 0 {
		if n > 0 && p.From == nil {
			w.fault(grammar.Warning, "rows", w.m().PhraseSpan, fmt.Sprintf("%d rows are stated before any are worked", n), "A number of rows without a verb is a figure: it works none.", fmt.Sprintf("if they are worked here, write `work %d rows` or `for %d rows`", n, n))
		}
		return
	}
	last := h.past[len(h.past)-1]
	is := fmt.Sprintf("%d were just worked, %d in this piece", last.rows, w.at(piece))
	if from != "" {
		is = fmt.Sprintf("%d have been worked%s", w.at(sums[0]), from)
	}
	w.fault(grammar.Fault, "rows", w.numSpan(w.d.Quantities[id]), fmt.Sprintf("%d rows are stated, but %s", n, is), "", "correct the number that is wrong", w.place(last.mark, "the rows just worked"))
	w.scoreRows(of(id), -1)
}

func (w *walker) lengthStated(p *grammar.Statement, id int) {
	if p.From == nil || w.now == nil {
		return
	}
	l, ok := w.lookup(p.From)
	if !ok {
		return
	}
	h := w.now.height.since(l.height)
	w.run.Heights = append(w.run.Heights, Stated{Quantity: id, Height: h})
	q := w.d.Quantities[id]
	g := w.d.DraftedGauges()
	said, _ := w.d.Stated(q, w.d.DraftedSize(w.size))
	is := h.Cm(w.v, g)
	slack := Slack(q.Value.Unit, g[w.fabricOf(w.m())])
	if diff := new(big.Rat).Sub(said, is); diff.Abs(diff).Cmp(slack) > 0 {
		w.fault(grammar.Fault, "height", w.numSpan(q), fmt.Sprintf("%s are stated, but the work is %s high from %s", CmText(said, q.Value.Unit), CmText(is, q.Value.Unit), p.From.Text), "", fmt.Sprintf("say %s, or work to the height before it", CmText(is, q.Value.Unit)), w.place(l.mark, p.From.Text+" is here"))
	}
}

// Slack is how far a stated length may lie from the height of the work, in centimetres: half of what a tape is read to, or a
// row where that is more.
func Slack(u grammar.Unit, g Gauge) *big.Rat {
	slack := TapeStep(u)
	slack.Quo(slack, big.NewRat(2, 1))
	if row := new(big.Rat).Inv(g.Rows); row.Cmp(slack) > 0 {
		return row
	}
	return slack
}

// TapeStep is what a tape is read to, in centimetres: 0.5 cm, or 1/4 in.
func TapeStep(u grammar.Unit) *big.Rat {
	if u == grammar.Inches {
		return big.NewRat(254, 400)
	}
	return big.NewRat(1, 2)
}

// GaugeFabric is the fabric a gauge in the text speaks of: the one it names, else the one whose gauge it states, else
// the first.
func (d *Draft) GaugeFabric(m *grammar.Mark) int {
	if m.Fabric != nil {
		if t, ok := d.names[m.Fabric.Key]; ok && t.what == "fabric" {
			return t.fabric
		}
	}
	if p, ok := m.Phrase.(*grammar.GaugeSaid); ok {
		if g, err := ReadGauge(p.Gauge); err == nil {
			for i, f := range d.Fabrics {
				if g.Stitches.Cmp(f.Gauge.Stitches) == 0 && (g.Rows == nil || g.Rows.Cmp(f.Gauge.Rows) == 0) {
					return i
				}
			}
		}
	}
	return 0
}

func (w *walker) gaugeSaid(p *grammar.GaugeSaid) {
	g, err := ReadGauge(p.Gauge)
	if err != nil {
		w.fault(grammar.Error, "gauge", p.Gauge.Span, err.Error(), "", "write it like `20 sts and 28 rows to 10 cm`")
		return
	}
	f := w.d.Fabrics[w.d.GaugeFabric(w.m())]
	if g.Stitches.Cmp(f.Gauge.Stitches) != 0 || g.Rows != nil && g.Rows.Cmp(f.Gauge.Rows) != 0 {
		w.fault(grammar.Fault, "gauge", p.Gauge.Span, "this gauge is not that of fabric "+f.Name, "", "mend one of them, or name another fabric with `in`", grammar.Related{Span: f.Def.Span, Text: "the fabric is here"})
	}
}

func (w *walker) sizesSaid(p *grammar.SizesSaid) {
	same := len(p.List.Names) == len(w.d.Sizes)
	for i := range p.List.Names {
		same = same && i < len(w.d.Sizes) && p.List.Names[i].Key == grammar.Key(w.d.Sizes[i])
	}
	if !same {
		w.fault(grammar.Fault, "sizes", p.List.Span, "these are not the sizes of the draft", "", "the sizes are "+andList(w.d.Sizes), w.d.sizesPlace()...)
	}
}
