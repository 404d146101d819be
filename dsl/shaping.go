package dsl

import (
	"fmt"
	"strings"

	"gaugewright/grammar"
)

// far is larger than any count: it switches a rule off.
const far = 2 * MaxCount

// amount is what shaping does each time: to the whole count, and at one edge of the work.
func (w *walker) amount(sts int64, where grammar.Where, increase bool) (perTime, edge int64, ok bool) {
	sign := int64(-1)
	if increase {
		sign = 1
	}
	switch where.Ends {
	case grammar.EachEnd:
		if perTime, edge = 2*sts, sts; w.oneEach(where) {
			perTime = sts
		}
	case grammar.Beginning, grammar.End, grammar.NamedEdge:
		perTime, edge = sts, sts
	case grammar.Markers, grammar.EachMarker:
		n := int64(0)
		if w.now != nil {
			n = int64(len(w.now.parts))
			if w.flat() {
				n--
			}
		}
		if n < 1 && len(where.Parts) == 0 {
			w.fault(grammar.Error, "markers", where.Span, "how many markers there are is not known", "", "name the parts between them first: `{24 sts as shoulder + 30 sts as back + 24 sts}`, or say the stitches of a whole row")
			return 0, 0, false
		}
		perTime, edge = n*sts, sts
		if where.Ends == grammar.Markers {
			perTime *= 2
		}
	default:
		// Nothing is said of the place: the stitches stand on lines of one each.
		perTime, edge = sts, min(1, sts)
	}
	if len(where.Parts) > 0 {
		each := sts
		if where.Ends == grammar.EachEnd || where.Ends == grammar.Markers {
			each = 2 * sts
		}
		perTime = each * int64(len(w.partsNamed(where)))
		if perTime == 0 {
			w.fault(grammar.Error, "part", where.Span, "no part of that name is laid out", "", "name it in a layout: `{24 sts as shoulder + 30 sts + 24 sts}`")
			return 0, 0, false
		}
	}
	return sign * perTime, edge, true
}

// partsNamed is the named parts that shaping happens in.
func (w *walker) partsNamed(where grammar.Where) []int {
	var out []int
	for i, p := range w.now.parts {
		for _, n := range where.Parts {
			k := strings.TrimPrefix(n.Key, "the ")
			if p.name == k || strings.TrimSuffix(k, "s") == p.name || strings.HasSuffix(p.name, " "+strings.TrimSuffix(k, "s")) {
				out = append(out, i)
				break
			}
		}
	}
	return out
}

// growParts follows the shaping part by part where the parts are named.
func (w *walker) growParts(where grammar.Where, sts int64, increase bool, times Lin) {
	if w.now == nil || len(w.now.parts) == 0 {
		return
	}
	sign := int64(-1)
	if increase {
		sign = 1
	}
	parts := append([]namedPart(nil), w.now.parts...)
	switch {
	case len(where.Parts) > 0:
		each := sts
		if where.Ends == grammar.EachEnd || where.Ends == grammar.Markers {
			each = 2 * sts
		}
		for _, i := range w.partsNamed(where) {
			parts[i].n = parts[i].n.Plus(times, sign*each)
		}
	case where.Ends == grammar.Markers:
		for i := range parts {
			k := int64(2)
			if w.flat() && (i == 0 || i == len(parts)-1) {
				k = 1
			}
			parts[i].n = parts[i].n.Plus(times, sign*k*sts)
		}
	default:
		parts = nil // where it happens is not said: the parts are no longer known
	}
	w.now.parts = parts
}

// stepFor is the smallest step intervals move by: two rows where a flat piece shapes on even intervals, else one.
func (w *walker) stepFor(cs []*grammar.Clause, size int) int64 {
	if !w.flat() {
		return 1
	}
	for _, c := range cs {
		if w.absent(c, size) || c.Kind == grammar.OneRow {
			continue
		}
		if w.d.Interval(c, size)%2 != 0 {
			return 1
		}
	}
	return 2
}

func (w *walker) absent(c *grammar.Clause, size int) bool {
	if c.Times == nil {
		return false
	}
	id, ok := w.d.byValue[c.Times]
	return ok && w.d.Quantities[id].Drafted[size] == 0
}

// straight says whether a schedule is one straight edge: in every size at most two clauses are left once those of no
// times are dropped, their intervals differ by the smallest step at most, and the edge does not bulge by more than three
// stitches from the line.
func (w *walker) straight(cs []*grammar.Clause, edge int64) bool {
	for size := range w.d.Sizes {
		step := w.stepFor(cs, size)
		var a, n []int64
		for _, c := range cs {
			if w.absent(c, size) {
				continue
			}
			if c.Sts != nil {
				return false
			}
			a = append(a, w.d.Interval(c, size))
			if c.Times != nil {
				n = append(n, w.d.Quantities[w.d.byValue[c.Times]].Drafted[size])
			}
		}
		if len(a) > 2 {
			return false
		}
		if len(a) < 2 {
			continue
		}
		if diff := a[0] - a[1]; diff > step || -diff > step {
			return false
		}
		if len(n) == 2 && a[0] != a[1] {
			rows := a[0]*n[0] + a[1]*n[1]
			// stitches off the line where the two intervals meet, times rows
			off := edge * (n[0]*rows - (n[0]+n[1])*a[0]*n[0])
			if off > 3*rows || off < -3*rows {
				w.fault(grammar.Warning, "bulge", w.m().PhraseSpan, "this edge bulges by more than three stitches from a straight line", "", "it is kept as a curve; if it was meant straight, spread it evenly")
				return false
			}
		}
	}
	return true
}

// schedule makes the quantities of a schedule, one segment for each straight edge, and relates its rows. rest is the
// times of a clause that leaves them to `until` (-1: none may).
func (w *walker) schedule(cs []*grammar.Clause, starting bool, edge, rest int64) *Schedule {
	s := &Schedule{Mark: w.mark, Clauses: cs}
	times := make([]int64, len(cs))
	var present []int
	for i, c := range cs {
		switch {
		case c.Times != nil:
			times[i] = w.num(c.Times)
		case c.Kind == grammar.OneRow:
			times[i] = 1
		default:
			times[i] = rest
		}
		if times[i] > 0 || c.Kind == grammar.NextAnd {
			present = append(present, i)
		}
	}
	next := func(i int) bool {
		return cs[i].Kind == grammar.NextAnd || i == present[0] && (starting || i == 0 && cs[i].Kind == grammar.OnNext && w.d.Interval(cs[i], w.size) > 1)
	}
	if len(present) == 0 {
		w.run.Schedules = append(w.run.Schedules, s)
		return s
	}
	if len(cs) == 1 && cs[0].Kind == grammar.OneRow {
		n := w.hide("times", Times, "times", 1)
		w.d.Quantities[n].Fixed = true
		s.Segments = []*Segment{{Clauses: []int{0}, N: n, R: -1, Const: true, Interval: 1, Step: 1, Edge: edge}}
		w.run.Schedules = append(w.run.Schedules, s)
		return s
	}
	if w.straight(cs, edge) {
		seg := &Segment{Clauses: indices(len(cs)), Next: next(present[0]), Step: w.stepFor(cs, w.size), Edge: edge}
		var n, rows int64
		for k, i := range present {
			t := times[i]
			a := w.d.Interval(cs[i], w.size)
			rows += a * t
			n += t
			if k == 0 && seg.Next {
				if cs[i].Kind == grammar.NextAnd {
					n, rows = n+1, rows+1
				} else {
					rows += 1 - a
				}
			}
		}
		seg.N = w.hide("times", Times, "times", n)
		seg.R = w.hide("rows", Rows, "rows of the schedule", rows)
		s.Segments = []*Segment{seg}
		w.bindSegment(seg, true)
		w.run.Schedules = append(w.run.Schedules, s)
		return s
	}
	slowest := present[0]
	for _, i := range present {
		if w.d.Interval(cs[i], w.size) > w.d.Interval(cs[slowest], w.size) {
			slowest = i
		}
	}
	total := whole(0)
	for _, i := range present {
		a := w.d.Interval(cs[i], w.size)
		e := edge
		if cs[i].Sts != nil {
			e = max(1, w.num(cs[i].Sts))
		}
		seg := &Segment{Clauses: []int{i}, R: -1, Interval: a, Next: next(i), Step: w.stepFor(cs[i:i+1], w.size), Edge: e}
		n := times[i]
		if cs[i].Kind == grammar.NextAnd {
			n++
		}
		seg.N = w.hide(fmt.Sprint("times ", i), Times, "times", n)
		if i == slowest {
			rows := a * n
			if seg.Next {
				rows = 1 + a*(n-1)
			}
			seg.R = w.hide(fmt.Sprint("rows ", i), Rows, "rows of the schedule", rows)
		}
		w.bindSegment(seg, false)
		s.Segments = append(s.Segments, seg)
		total = total.Plus(seg.RowsLin(), 1)
	}
	w.parity(total)
	if id, ok := w.d.Hidden(w.mark, "rows"); ok {
		// A tie stands on the height of the whole.
		w.d.Quantities[id].Drafted[w.size] = w.at(total)
		w.same(of(id), total, "the rows of "+w.phrase())
	}
	w.run.Schedules = append(w.run.Schedules, s)
	return s
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// bindSegment relates the times and the rows of one straight edge.
func (w *walker) bindSegment(g *Segment, parity bool) {
	w.d.Quantities[g.N].Least = 1
	n := of(g.N)
	w.relate(AtLeast, n.Add(-1), 0, w.phrase()+" happens at least once")
	if g.R < 0 {
		return
	}
	r := of(g.R)
	w.relate(AtLeast, r.Plus(n, -1), 0, w.phrase()+" has a row for each time")
	if parity || g.Step == 2 {
		w.parity(r)
	}
	m, d := n, r
	if g.Next {
		m, d = n.Add(-1), r.Add(-1)
		w.relate(AtLeast, m.Times(far).Plus(d, -1), 0, w.phrase()+" with a single time takes one row")
	}
	if g.Step == 2 {
		w.run.Relations = append(w.run.Relations, Relation{Kind: Costly, Expr: d.Plus(m, -2), Mark: w.mark, Why: w.phrase(), Soft: "shaping falls on rows it did not fall on in the draft"})
	}
}

// rowsOf is all rows of a schedule.
func rowsOf(s *Schedule) Lin {
	n := whole(0)
	for _, g := range s.Segments {
		n = n.Plus(g.RowsLin(), 1)
	}
	return n
}

func (w *walker) shape(p *grammar.Shape) {
	if !w.need("shape") {
		return
	}
	h := w.now
	if !p.Meanwhile {
		w.settle(false)
		w.shapingBegins()
	}
	sts := int64(1)
	for x := p; x != nil; x = x.GoesOn {
		if x.Sts != nil {
			sts = w.num(x.Sts)
			break
		}
	}
	perTime, edge, ok := w.amount(sts, p.Where, p.Increase)
	if !ok {
		return
	}
	per := func(g *Segment) int64 {
		if c := p.Clauses[g.Clauses[0]]; c.Sts != nil {
			x, _, _ := w.amount(w.num(c.Sts), p.Where, p.Increase)
			return x
		}
		return perTime
	}
	rest, comes := int64(0), true
	var until int
	if p.Until != nil {
		if len(h.meanwhile) > 0 || p.Meanwhile {
			w.fault(grammar.Error, "until", w.m().PhraseSpan, "the times of shaping that runs beside other shaping cannot be left to `until`", "", "say how many times")
			return
		}
		until, _ = w.q(p.Until)
		rest, comes = w.untilTimes(p.Clauses, until, perTime)
	}
	for _, c := range p.Clauses {
		if c.Times == nil && c.Kind != grammar.OneRow && p.Until == nil {
			w.fault(grammar.Error, "times", c.Span, "how many times is not said", "", "add `6 times`, or `until 78 sts remain`")
			return
		}
	}
	s := w.schedule(p.Clauses, p.Starting, edge, rest)
	w.turning(p, s)
	if p.Meanwhile {
		w.alongside(p, s, per)
		return
	}
	from := h.count
	edges := w.edgeOfClauses(p.Where, p.Clauses, s)
	w.onWrongSide(s)
	for i, g := range s.Segments {
		n := of(g.N)
		before := h.count
		w.change(n.Times(per(g)), verbDone(p.Increase))
		h.grow(w.mark, n, per(g))
		w.strip(g.RowsLin(), before, h.count).Edge = edges
		w.growParts(p.Where, sts, p.Increase, n)
		w.edgeScores(g, i)
		if i < len(s.Segments)-1 {
			w.scoreCount(-1)
		}
	}
	rows := rowsOf(s)
	w.pass(rows, w.at(rows), h.count.Plus(from, -1))
	h.past[len(h.past)-1].edge = edges
	if n := p.InRows - 1; n > 0 {
		w.strip(whole(n), h.count, h.count)
		w.pass(whole(n), n, whole(0))
	}
	w.rowEnding()
	if p.Until != nil {
		w.reached(until, comes)
		return
	}
	if id, ok := w.d.Hidden(w.mark, "rows"); ok {
		w.ties(id)
	}
	if len(s.Segments) > 0 {
		w.scoreCount(-1)
	}
}

// grow notes shaping since the last layout; the stretches of one schedule that do the same each time are one shaping.
func (h *hand) grow(mark int, times Lin, per int64) { h.grown = grow(h.grown, mark, times, per) }

func grow(list []Grown, mark int, times Lin, per int64) []Grown {
	out := append([]Grown(nil), list...)
	if n := len(out); n > 0 && out[n-1].mark == mark && out[n-1].Per == per {
		out[n-1].Times = out[n-1].Times.Plus(times, 1)
		return out
	}
	return append(out, Grown{mark, times, per})
}

// turning keeps shaping at one end of every row of flat work on every row: that is how a heel is turned or a strip set to
// work its way along, and a plain row between would undo it.
func (w *walker) turning(p *grammar.Shape, s *Schedule) {
	if !w.flat() || p.Where.Ends != grammar.End && p.Where.Ends != grammar.Beginning || len(p.Clauses) != 1 {
		return
	}
	for size := range w.d.Sizes {
		if w.d.Interval(p.Clauses[0], size) != 1 {
			return
		}
	}
	for _, g := range s.Segments {
		if g.R >= 0 {
			w.relate(Zero, of(g.R).Plus(of(g.N), -1), 0, w.phrase()+" shapes every row")
		}
	}
}

func verbDone(increase bool) string {
	if increase {
		return "increased"
	}
	return "decreased"
}

// untilTimes is the times a clause that leaves them to `until` must have.
// It says, too, whether they come out whole; where they do not, that is reported.
func (w *walker) untilTimes(cs []*grammar.Clause, until int, perTime int64) (times int64, ok bool) {
	n := w.at(w.now.count)
	open := 0
	for _, c := range cs {
		if c.Times != nil {
			n += perTime * w.num(c.Times)
		} else {
			open++
		}
		if c.Kind == grammar.NextAnd {
			n += perTime // the next row itself
		}
	}
	want := w.v(until)
	if open == 0 {
		return 0, true
	}
	if perTime == 0 || (want-n)%perTime != 0 || (want-n)/perTime < 0 {
		sum, rel := w.story()
		each := abs(perTime)
		w.fault(grammar.Fault, "until", w.numSpan(w.d.Quantities[until]), fmt.Sprintf("from %d sts, %d a time never comes to %d", n, each, want), sum, reachable(n, perTime, want), rel...)
		if perTime == 0 {
			return 1, false
		}
		return max(1, (want-n)/perTime), false
	}
	return (want - n) / perTime, true
}

// reached is the count after `until`. Where it cannot come out that has been told, and the work goes on with it.
func (w *walker) reached(until int, comes bool) {
	if !comes {
		w.now.count = of(until)
	}
	w.state(until, "until")
	w.ties(until)
	w.scoreCount(w.tieOf(until))
	w.now.pending = -1
}

// reachable tells the counts nearest to the one wanted that shaping from n comes to.
func reachable(n, perTime, want int64) string {
	if perTime == 0 || (want-n)/perTime < 0 {
		return "mend one of the counts, or turn the increase into a decrease"
	}
	k := (want - n) / perTime
	return fmt.Sprintf("ask for %d or for %d", n+k*perTime, n+(k+1)*perTime)
}

// edgeScores scores the width of an edge on one side and its own rows.
func (w *walker) edgeScores(g *Segment, i int) {
	w.scoreWidth(of(g.N).Times(g.Edge), -1)
	tie := -1
	if id, ok := w.d.Hidden(w.mark, "rows"); ok && g.R == id {
		tie = w.tieOf(id)
	} else if ok && i == 0 && w.tieOf(id) >= 0 {
		w.scoreRows(of(id), w.tieOf(id))
	}
	w.scoreRows(g.RowsLin(), tie)
}

// onWrongSide notes flat shaping on even intervals that falls on wrong-side rows, which few designers mean.
func (w *walker) onWrongSide(s *Schedule) {
	if !w.flat() || len(s.Segments) == 0 || s.Segments[0].Const {
		return
	}
	g := s.Segments[0]
	if g.Step != 2 || w.d.Interval(s.Clauses[g.Clauses[0]], w.size)%2 != 0 || s.Clauses[g.Clauses[0]].OnSide != grammar.NoSide {
		return
	}
	firstIsWS := (w.now.pos%2 == 1) != w.now.firstWS
	if g.Next != firstIsWS {
		return // begins on a right-side row and shapes on its first, or the other way about
	}
	key := "wrong side"
	if _, told := w.d.faults[key]; told {
		return
	}
	w.d.faults[key] = &fault{diag: grammar.Diagnostic{Severity: grammar.Note, Span: w.m().PhraseSpan, Summary: "this shapes on wrong-side rows",
		WayOut: "if right-side rows are meant, say `starting on the next row`, or `every RS row`"}, sizes: []int{}, texts: nil}
	for s := range w.d.Sizes {
		w.d.faults[key].sizes = append(w.d.faults[key].sizes, s)
	}
	w.d.faults[key].texts = []string{"this shapes on wrong-side rows"}
	w.d.order = append(w.d.order, key)
}

// alongside starts shaping that runs meanwhile.
func (w *walker) alongside(p *grammar.Shape, s *Schedule, per func(*Segment) int64) {
	h := w.now
	from := h.beside()
	if p.After != nil {
		l, ok := w.lookup(p.After)
		if !ok {
			return
		}
		from = l.height
		if p.AfterBy != nil {
			from = w.later(p, from)
		}
	}
	effect := whole(0)
	var perTime int64
	var grown []Grown
	for i, g := range s.Segments {
		effect = effect.Plus(of(g.N), per(g))
		grown = grow(grown, w.mark, of(g.N), per(g))
		perTime = per(g)
		w.edgeScores(g, i)
	}
	rows := rowsOf(s)
	if len(s.Segments) == 0 {
		return
	}
	cloth := w.beside(s, from.rows(), w.edgeOfClauses(p.Where, p.Clauses, s), per)
	if h.pending == len(w.run.Scores) || h.pending >= 0 && w.run.Scores[h.pending].Tie < 0 {
		w.dropScore(h.pending)
		h.pending = -1
	}
	h.meanwhile = append(h.meanwhile, &running{sched: s, mark: w.mark, effect: effect, perTime: perTime, rows: rows, from: from, grown: grown, cloth: cloth})
}

// beside notes the moves of shaping that runs meanwhile, and gives what it adds to the cloth it runs beside.
func (w *walker) beside(s *Schedule, at Lin, edge Edge, per func(*Segment) int64) []Strip {
	var cloth []Strip
	var from Lin
	for _, g := range s.Segments {
		m := w.move(Beside, g.RowsLin(), of(g.N).Times(per(g)))
		m.At, m.Edge = at, edge
		at = at.Plus(m.Rows, 1)
		to := from.Plus(m.By, 1)
		cloth = append(cloth, Strip{Mark: w.mark, Fabric: m.Fabric, Rows: m.Rows, From: from, To: to, Sides: w.now.sides, Work: w.now.work})
		from = to
	}
	return cloth
}

// besideStrips adds what shaping that ran meanwhile has added to the cloth by the time so many rows have gone.
func (w *walker) besideStrips(r *running, gone Lin) {
	if len(r.cloth) == 0 {
		return
	}
	after := r.cloth[len(r.cloth)-1]
	after.Rows, after.From = gone.Plus(r.rows, -1), after.To
	w.run.Strips = append(append(w.run.Strips, r.cloth...), after)
}

// dropScore takes back the score of a count that does not occur: shaping meanwhile has begun by then.
func (w *walker) dropScore(i int) {
	if i >= 0 && i < len(w.run.Scores) {
		w.run.Scores = append(w.run.Scores[:i:i], w.run.Scores[i+1:]...)
	}
}

// later is a place so many rows or so long after another.
func (w *walker) later(p *grammar.Shape, from Height) Height {
	id, ok := w.q(p.AfterBy)
	if !ok {
		return from
	}
	fabric := w.fabricOf(w.m())
	q := w.d.Quantities[id]
	if q.Kind == Rows {
		q.Shared = false
		w.scoreRows(of(id), -1)
		return from.plus(fabric, of(id))
	}
	length, _ := w.d.Stated(q, w.d.DraftedSize(w.size))
	x := FractionFrom(length).Times(FractionFrom(w.d.Fabrics[fabric].Gauge.Rows))
	r := w.hide("offset", Rows, "rows before it starts", max(0, nearestRows(x, 1, 0)))
	w.run.Lengths = append(w.run.Lengths, LengthRule{Mark: w.mark, Rows: r, Length: id, From: w.mark, Fabric: fabric, Step: 1})
	return from.plus(fabric, of(r))
}

func (w *walker) repeat(p *grammar.Repeat) {
	if !w.need("repeat") {
		return
	}
	w.settle(false)
	if p.LastRows != nil || p.Row == nil {
		w.repeatRows(p)
		return
	}
	if w.m().TakenUp {
		if id, ok := w.q(p.Until); ok {
			w.state(id, "until")
		}
		return
	}
	sh, ok := w.shapedRow(p)
	if !ok {
		return
	}
	sts := int64(1)
	switch {
	case sh.told != 0:
		sts = sh.told
	case sh.Sts != nil:
		sts = w.num(sh.Sts)
	}
	perTime, edge, ok := w.amount(sts, sh.Where, sh.Increase)
	if !ok {
		return
	}
	h := w.now
	rest, comes := int64(0), true
	until := -1
	if p.Until != nil {
		until, _ = w.q(p.Until)
		rest, comes = w.untilTimes(p.Clauses, until, perTime)
	}
	cs := p.Clauses
	if len(cs) == 0 {
		w.fault(grammar.Error, "repeat", w.m().PhraseSpan, "how often the row is repeated is not said", "", "write `repeat the decrease row every 4th row 5 more times`")
		return
	}
	s := w.schedule(cs, false, edge, rest)
	from := h.count
	edges := w.edgeOfClauses(sh.Where, cs, s)
	var cloth []Strip
	if p.Meanwhile {
		cloth = w.beside(s, h.beside().rows(), edges, func(*Segment) int64 { return perTime })
	}
	for i, g := range s.Segments {
		before := h.count
		w.change(of(g.N).Times(perTime), verbDone(sh.Increase))
		if !p.Meanwhile {
			w.strip(g.RowsLin(), before, h.count).Edge = edges
		}
		w.growParts(sh.Where, sts, sh.Increase, of(g.N))
		// One edge with the labelled row: once more than it is repeated, over one row more.
		n, r := of(g.N), g.RowsLin()
		if i == 0 {
			n, r = n.Add(1), r.Add(1)
		}
		w.scoreWidth(n.Times(edge), -1)
		tie := -1
		if id, ok := w.d.Hidden(w.mark, "rows"); ok && g.R == id {
			tie = w.tieOf(id)
		}
		w.scoreRows(r, tie)
		if i < len(s.Segments)-1 {
			w.scoreCount(-1)
		}
	}
	rows := rowsOf(s)
	if p.Meanwhile {
		effect := h.count.Plus(from, -1)
		h.count = from
		h.story = h.story[:len(h.story)-len(s.Segments)]
		h.meanwhile = append(h.meanwhile, &running{sched: s, mark: w.mark, effect: effect, perTime: perTime, rows: rows, from: h.beside(), cloth: cloth})
		return
	}
	w.pass(rows, w.at(rows), h.count.Plus(from, -1))
	h.past[len(h.past)-1].edge = edges
	w.rowEnding()
	if until >= 0 {
		w.reached(until, comes)
		return
	}
	w.scoreCount(-1)
}

// shapedRow is a row that is repeated by its name.
type shapedRow struct {
	*grammar.Shape
	told int64 // the stitches it changes, where it is told in words
}

// shapedRow finds the row that is repeated: the one of that name, or the one told in words right before.
func (w *walker) shapedRow(p *grammar.Repeat) (shapedRow, bool) {
	told := func(t *grammar.Told) (shapedRow, bool) {
		if t == nil || t.Change == 0 {
			return shapedRow{}, false
		}
		return shapedRow{&grammar.Shape{Increase: t.Change > 0}, abs(t.Change)}, true
	}
	if r, ok := told(w.m().Told); ok {
		return r, true
	}
	l, ok := w.along(p.Row)
	if !ok {
		return shapedRow{}, false
	}
	m := w.d.File.Marks[l.mark]
	if r, ok := told(m.Told); ok {
		return r, true
	}
	sh, ok := m.Phrase.(*grammar.Shape)
	if !ok {
		w.fault(grammar.Error, "repeat", p.Row.Span, "the "+p.Row.Text+" is no row of shaping", "", "label the instruction that shapes one row: `{decrease 1 st at each end of the next row | as decrease row}`", w.place(l.mark, "it is here"))
	}
	return shapedRow{Shape: sh}, ok
}

// repeatRows is `repeat the last 2 rows 11 more times`: what the marked instructions of those rows did, again.
func (w *walker) repeatRows(p *grammar.Repeat) {
	h := w.now
	m := max(1, w.num(p.LastRows))
	rows, delta := int64(0), whole(0)
	edge := BothEdges
	i := len(h.past) - 1
	for ; i >= 0 && rows < m; i-- {
		rows += h.past[i].rows
		if h.past[i].edge != BothEdges {
			edge = h.past[i].edge
		}
		delta = delta.Plus(h.past[i].delta, 1)
		for _, r := range h.past[i].lrows.Terms {
			w.d.Quantities[r.Quantity].Fixed = true
		}
		for _, r := range h.past[i].delta.Terms {
			w.d.Quantities[r.Quantity].Fixed = true
		}
	}
	if id, ok := w.q(p.Until); ok && w.m().TakenUp {
		w.state(id, "until")
		return
	}
	if rows != m {
		var rel []grammar.Related
		if i+1 < len(h.past) && i+1 >= 0 {
			rel = append(rel, w.place(h.past[i+1].mark, fmt.Sprintf("this takes %d rows", h.past[i+1].rows)))
		}
		w.fault(grammar.Fault, "last rows", w.m().PhraseSpan, fmt.Sprintf("the marked instructions before this do not end with exactly %d rows: the last ones take %d", m, rows), "", "mark each row that is repeated, `{work 1 row}` for a plain one", rel...)
		return
	}
	d := w.at(delta)
	comes := true
	first := int64(0)
	if p.InAll {
		first = 1 // the times count the rows as they were worked first
	}
	var k int
	switch {
	case p.Times != nil:
		k, _ = w.q(p.Times)
	case p.Until != nil:
		u, _ := w.q(p.Until)
		want := w.v(u) - w.at(h.count)
		times := int64(0)
		if d == 0 || want%d != 0 || want/d < 0 {
			sum, rel := w.story()
			w.fault(grammar.Fault, "until", w.numSpan(w.d.Quantities[u]), fmt.Sprintf("from %d sts, %d a time never comes to %d", w.at(h.count), abs(d), w.v(u)), sum, reachable(w.at(h.count), d, w.v(u)), rel...)
			comes = false
		} else {
			times = want / d
		}
		k = w.hide("times", Times, "times", times)
	default:
		w.fault(grammar.Error, "repeat", w.m().PhraseSpan, "how often is not said", "", "add `11 more times`, or `until 78 sts remain`")
		return
	}
	if p.Times != nil && !p.More {
		w.fault(grammar.Note, "more", w.m().PhraseSpan, "read as so many more times", "", "write `more times` to be plain")
	}
	w.relate(AtLeast, of(k).Add(-min(1, w.v(k))), 0, w.phrase()+" happens as often as it must")
	w.ties(k)
	from := h.count
	if d != 0 {
		w.change(of(k).Add(-first).Times(d), "repeated")
		side := abs(d)
		w.scoreWidth(of(k).Times(side), -1)
	} else {
		// Nothing changes but the height, so that is what it keeps.
		w.scoreRows(of(k).Times(m), w.tieOf(k))
	}
	lr := of(k).Add(-first).Times(m)
	w.strip(lr, from, h.count).Edge = edge
	w.pass(lr, m*(w.v(k)-first), h.count.Plus(from, -1))
	w.rowEnding()
	if p.Until != nil {
		u, _ := w.q(p.Until)
		w.reached(u, comes)
		return
	}
	if d != 0 {
		w.scoreCount(-1)
	}
}

func abs(n int64) int64 {
	if n < 0 {
		return -n
	}
	return n
}

// spelledOut is a stretch of a row that is repeated, `(k8, k2tog) 10 times`. What is repeated stays as it is, so the times follow the
// count, and stitches of the row that lie outside stay as many as they are.
func (w *walker) spelledOut(p *grammar.Spelled) {
	if !w.need("work in") {
		return
	}
	w.settle(false)
	h := w.now
	from := h.count
	var times Lin
	if p.Times == nil {
		times = w.groupsOf(p.Takes)
	} else {
		times = w.timesOver(p)
	}
	delta := times.Times(p.Makes - p.Takes)
	if p.Makes != p.Takes {
		w.change(delta, "spelled out")
	}
	w.strip(whole(1), from, h.count)
	w.pass(whole(1), 1, delta)
	w.scoreCount(-1)
}

// timesOver is how often a stretch with its times said is worked; what it leaves of the stitches in hand stays as it is drafted.
func (w *walker) timesOver(p *grammar.Spelled) Lin {
	count := w.now.count
	id, _ := w.q(p.Times)
	times := of(id)
	if p.More {
		times = times.Add(1)
	}
	takes := times.Times(p.Takes)
	if outside := w.at(count) - w.at(takes); outside < 0 {
		sum, rel := w.story()
		w.fault(grammar.Fault, "sum", w.m().PhraseSpan, fmt.Sprintf("%d times %d = %d sts are worked, but %d are in hand", w.at(times), p.Takes, w.at(takes), w.at(count)), sum, "correct the number that is wrong", rel...)
	} else {
		w.relate(Zero, count.Plus(takes, -1).Add(-outside), 0, w.phrase()+" goes over the stitches in hand")
	}
	w.ties(id)
	return times
}
