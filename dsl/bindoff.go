package dsl

import (
	"fmt"

	"gaugewright/grammar"
)

func (w *walker) bindOff(p *grammar.BindOff) {
	if p.A != nil && p.With != nil {
		w.pair(p.A, p.With)
		return
	}
	if !w.need("bind off") {
		return
	}
	h := w.now
	if p.All {
		w.settle(true)
		if id, ok := w.q(p.Count); ok {
			w.state(id, "")
			w.ties(id)
			if t := w.tieOf(id); t >= 0 {
				w.scoreCount(t)
			}
		}
		w.builtIn("bind-off")
		w.closes(whole(1))
		w.top()
		w.now = nil
		return
	}
	w.settle(false)
	w.builtIn("bind-off")
	w.shapingBegins()
	switch {
	case p.Centre != nil:
		w.bindCentre(p)
	case len(p.Steps) > 0:
		w.bindSteps(p)
	default:
		id, ok := w.q(p.Count)
		if !ok {
			return
		}
		w.ties(id)
		if w.v(id) == w.at(h.count) && h.sides == 1 {
			w.settle(true)
			w.same(of(id), h.count, w.phrase()+" takes all the stitches in hand")
			w.scoreWidth(of(id), w.tieOf(id))
			w.closes(whole(1))
			w.top()
			w.now = nil
			return
		}
		from := h.count
		w.closes(whole(1))
		w.change(of(id).Times(-1), "bound off")
		w.stairs(whole(1), from, whole(1), w.edgeOf(grammar.Where{Ends: grammar.Beginning}, 0, 0))
		w.pass(whole(1), 1, of(id).Times(-1))
		w.scoreWidth(of(id), w.tieOf(id))
		w.scoreCount(-1)
	}
}

// closes notes that stitches are bound off: the first of a row of such instructions that takes all there are begins the top
// of a side.
func (w *walker) closes(steps Lin) {
	h := w.now
	if h.closing == nil {
		h.closing = &Top{Mark: w.mark, Count: h.count, Steps: whole(0)}
	}
	next := *h.closing
	next.Steps = next.Steps.Plus(steps, 1)
	h.closing = &next
}

// hasNeck says whether the work in hand was shaped at the neck or the front opening, as the front of a cardigan is.
func (w *walker) hasNeck() bool {
	for _, m := range w.run.Works[w.now.work].Moves {
		if m.Edge == InnerEdge {
			return true
		}
	}
	return false
}

// top keeps the end of a side.
func (w *walker) top() {
	if h := w.now; h.closing != nil && (h.parted || w.hasNeck()) {
		w.run.Tops = append(w.run.Tops, *h.closing)
	}
}

func (w *walker) bindCentre(p *grammar.BindOff) {
	h := w.now
	n, _ := w.q(p.Centre)
	w.ties(n)
	from := h.count
	w.scoreWidth(of(n), w.tieOf(n))
	var m int
	if id, ok := w.q(p.Leaving); ok {
		m = id
		w.ties(m)
	} else {
		left := w.at(h.count) - w.v(n)
		if left%2 != 0 {
			sum, rel := w.story()
			w.fault(grammar.Fault, "centre", w.m().PhraseSpan, fmt.Sprintf("%d sts around a centre of %d do not leave two equal sides", w.at(h.count), w.v(n)), sum, fmt.Sprintf("bind off %d or %d at the centre", w.v(n)-1, w.v(n)+1), rel...)
		}
		m = w.hide("side", Stitches, "each side", left/2)
	}
	if !w.same(of(n).Plus(of(m), 2), h.count, w.phrase()+": the centre and two equal sides are what is in hand") {
		sum, rel := w.story()
		w.fault(grammar.Fault, "sum", w.m().PhraseSpan, fmt.Sprintf("%d + %d + %d = %d, but %d sts are in hand", w.v(m), w.v(n), w.v(m), 2*w.v(m)+w.v(n), w.at(h.count)), sum, w.centreWayOut(n, m), rel...)
	}
	w.move(Parts, Lin{}, of(n).Times(-1))
	w.strip(whole(1), from, from.Plus(of(n), -1)).By = Lin{}
	if h.loose && p.Leaving == nil {
		m = w.hide("side", Stitches, "each side", 0)
	}
	h.loose = h.loose && p.Leaving == nil
	h.count, h.sides = of(m), 2
	h.story = []change{{w.mark, w.v(m), "each side"}}
	w.pass(whole(1), 1, whole(0))
	w.scoreCount(-1)
}

// centreWayOut is how a centre and two sides could add up to what is in hand.
func (w *walker) centreWayOut(n, m int) string {
	have := w.at(w.now.count)
	way := fmt.Sprintf("bind off %d", have-2*w.v(m))
	if have-2*w.v(m) < 1 {
		way = "mend the count before"
	}
	if left := have - w.v(n); left > 0 && left%2 == 0 {
		way = fmt.Sprintf("leave %d sts each side, or %s", left/2, way)
	}
	return way
}

// stepRows says how a clause of a stepped bind-off is spread: how many steps it makes at one edge, over how many rows,
// whether both edges are stepped in turn.
func (w *walker) stepRows(s *grammar.Step) (steps, rows int64, twoEdged, now bool) {
	switch {
	case s.Every != nil || s.EveryStep > 0:
		a := int64(s.EveryStep)
		if s.Every != nil {
			a = max(1, w.num(s.Every))
		}
		n := int64(1)
		if s.Times != nil {
			n = w.num(s.Times)
		}
		k := n
		if s.Where.Ends == grammar.EachEnd && !w.oneEach(s.Where) {
			return k, a * n, true, false
		}
		return k, a * n, false, false
	case s.Rows != nil:
		n := int64(1)
		if _, ok := w.q(s.Rows); ok {
			n = w.num(s.Rows)
		}
		if n == 1 || s.Where.Ends == grammar.NamedEdge {
			return n, n, false, n == 1
		}
		return n / 2, n, n%2 == 0, false
	}
	return 1, 1, false, true
}

// oneEach says whether `at each armhole edge` means one edge of the work, because two sides are in hand, each with an armhole.
func (w *walker) oneEach(where grammar.Where) bool {
	return where.Ends == grammar.EachEnd && where.Edge != "" && w.now != nil && w.now.sides > 1
}

// bindSteps is a stepped edge. A single pair of rows is a notch and stays a pair; steps whose sizes differ by one at
// most are one edge of T stitches in S steps; otherwise each clause is an edge of its own.
func (w *walker) bindSteps(p *grammar.BindOff) {
	h := w.now
	from := h.count
	rowsLin := whole(0)
	var present []int
	for i, s := range p.Steps {
		id, _ := w.q(s.Sts)
		steps, _, _, _ := w.stepRows(s)
		if w.v(id) > 0 && steps > 0 {
			present = append(present, i)
		}
	}
	rec := &Steps{Mark: w.mark}
	add := func(seg *StepSegment) { rec.Segments = append(rec.Segments, seg) }
	if first, _ := w.q(p.Steps[0].Sts); first >= 0 {
		w.ties(first)
	}
	tie := func(i int) int {
		id, _ := w.q(p.Steps[i].Sts)
		return w.tieOf(id)
	}
	direct := func(i int) {
		// The stitches of each step stay one number; rows stay as they are.
		id, _ := w.q(p.Steps[i].Sts)
		steps, rows, twoEdged, _ := w.stepRows(p.Steps[i])
		w.d.Quantities[id].Shared = false
		w.relate(AtLeast, of(id).Add(-1), 0, w.phrase()+" binds off at least one stitch")
		k := steps
		if twoEdged {
			k = 2 * steps
		}
		if _, ok := w.q(p.Steps[i].Rows); ok && !twoEdged && rows > 1 {
			k = rows
		}
		before := h.count
		w.closes(whole(max(1, steps)))
		w.change(of(id).Times(-k), "bound off")
		w.stairs(whole(rows), before, whole(max(1, steps)), w.edgeOfSteps(p, i, twoEdged, rows))
		w.scoreWidth(of(id).Times(max(1, steps)), tie(i))
		rowsLin = rowsLin.Plus(whole(rows), 1)
	}
	edge := func(clauses []int, small bool) {
		var t, n, r int64
		twoEdged, now := false, false
		for k, i := range clauses {
			id, _ := w.q(p.Steps[i].Sts)
			steps, rows, two, first := w.stepRows(p.Steps[i])
			t += steps * w.v(id)
			n += steps
			r += rows
			twoEdged = twoEdged || two
			now = now || k == 0 && first
			w.d.Quantities[id].Shared = true
		}
		tag := fmt.Sprint(clauses[0])
		if len(clauses) > 1 || len(p.Steps) == 1 {
			tag = ""
		}
		seg := &StepSegment{Clauses: clauses, FirstNow: now}
		seg.T = w.hide("steps stitches"+tag, Stitches, "stitches bound off in steps", t)
		seg.S = w.hide("steps"+tag, Times, "steps", n)
		add(seg)
		k := int64(1)
		if twoEdged {
			k = 2
		}
		w.relate(AtLeast, of(seg.S).Add(-1), 0, w.phrase()+" has at least one step")
		w.relate(AtLeast, of(seg.T).Plus(of(seg.S), -1), 0, w.phrase()+" has a stitch for each step")
		rows := of(seg.S).Times(2).Add(r - 2*n)
		before := h.count
		if twoEdged {
			w.run.Slopes = append(w.run.Slopes, Slope{w.mark, seg.T, seg.S})
		}
		w.closes(of(seg.S))
		w.change(of(seg.T).Times(-k), "bound off in steps")
		w.stairs(rows, before, of(seg.S), w.edgeOfSteps(p, clauses[0], twoEdged, r)).Small = small
		w.scoreWidth(of(seg.T), tie(clauses[0]))
		w.scoreRows(rows, -1)
		rowsLin = rowsLin.Plus(rows, 1)
	}
	pair := func(i int) bool {
		steps, rows, _, now := w.stepRows(p.Steps[i])
		return steps <= 1 && rows <= 2 || now && rows == 1
	}
	odd := func(i int) bool {
		s := p.Steps[i]
		_, rows, two, _ := w.stepRows(s)
		if s.Every != nil || s.EveryStep > 0 {
			a := int64(s.EveryStep)
			if s.Every != nil {
				a = w.num(s.Every)
			}
			return a != 2
		}
		return rows > 1 && !two
	}
	small, large := int64(far), int64(0)
	anyOdd := false
	for _, i := range present {
		id, _ := w.q(p.Steps[i].Sts)
		small, large = min(small, w.v(id)), max(large, w.v(id))
		anyOdd = anyOdd || odd(i)
	}
	for i := range p.Steps {
		id, _ := w.q(p.Steps[i].Sts)
		w.d.Quantities[id].Shared = true
	}
	switch {
	case len(present) == 0:
	case anyOdd:
		for _, i := range present {
			direct(i)
		}
	case len(p.Steps) == 1 && pair(0):
		direct(0)
	case large-small <= 1 && w.evenSteps(p):
		smallest := false
		if len(present) > 1 {
			a, _ := w.q(p.Steps[present[0]].Sts)
			b, _ := w.q(p.Steps[present[1]].Sts)
			smallest = w.v(a) < w.v(b)
		}
		edge(present, smallest)
		rec.Whole, rec.Segments[0].SmallestFirst = true, smallest
	default:
		for k, i := range present {
			if pair(i) && k == 0 {
				direct(i)
			} else {
				edge([]int{i}, false)
			}
			if k < len(present)-1 {
				w.scoreCount(-1)
			}
		}
	}
	w.run.Steps = append(w.run.Steps, rec)
	w.pass(rowsLin, w.at(rowsLin), h.count.Plus(from, -1))
	if w.at(h.count) == 0 && h.sides == 1 {
		w.settle(true)
		w.relate(Zero, h.count, 0, w.phrase()+" takes all the stitches in hand")
		w.top()
		w.now = nil
		return
	}
	w.scoreCount(-1)
}

// stairs notes stitches bound off in steps, from a count to the one in hand.
func (w *walker) stairs(rows, from, steps Lin, edge Edge) *Move {
	m := w.strip(rows, from, w.now.count)
	m.Kind, m.Steps, m.Edge = Stairs, steps, edge
	return m
}

// edgeOfSteps is the edge of a clause of a stepped bind-off; one that names none goes on at the one before it.
func (w *walker) edgeOfSteps(p *grammar.BindOff, clause int, twoEdged bool, rows int64) Edge {
	where := p.Steps[clause].Where
	for i := clause; i > 0 && where.Ends == grammar.Unplaced; i-- {
		where = p.Steps[i-1].Where
	}
	if twoEdged || rows > 1 && where.Ends != grammar.NamedEdge {
		return BothEdges
	}
	return w.edgeOf(where, 0, w.at(w.now.ahead))
}

// evenSteps says whether in every size the steps differ by one at most, so that all sizes are read as one edge.
func (w *walker) evenSteps(p *grammar.BindOff) bool {
	for size := range w.d.Sizes {
		small, large := int64(far), int64(0)
		for _, s := range p.Steps {
			id, _ := w.q(s.Sts)
			n := w.d.Quantities[id].Drafted[size]
			if s.Rows != nil {
				if r, ok := w.q(s.Rows); ok && w.d.Quantities[r].Drafted[size] == 0 {
					continue
				}
			}
			if s.Times != nil {
				if r, ok := w.q(s.Times); ok && w.d.Quantities[r].Drafted[size] == 0 {
					continue
				}
			}
			if n > 0 {
				small, large = min(small, n), max(large, n)
			}
		}
		if large-small > 1 && large > 0 {
			return false
		}
	}
	return true
}

// turn is short rows: one time is two rows at the edge named, and one closing row goes over all stitches. The height of
// the other edge grows by the closing row alone.
func (w *walker) turn(p *grammar.Turn) {
	if !w.need("turn in") {
		return
	}
	w.settle(false)
	h := w.now
	var t, n int64
	rec := &Steps{Mark: w.mark}
	for _, s := range p.Steps {
		id, _ := w.q(s.Sts)
		w.d.Quantities[id].Shared = true
		k := int64(1)
		if s.Times != nil {
			k = w.num(s.Times)
		}
		t += k * w.v(id)
		n += k
	}
	if n == 0 || t == 0 {
		return
	}
	seg := &StepSegment{Clauses: indices(len(p.Steps))}
	seg.T = w.hide("steps stitches", Stitches, "stitches left in short rows", t)
	seg.S = w.hide("steps", Times, "turns", n)
	rec.Segments = []*StepSegment{seg}
	w.run.Steps = append(w.run.Steps, rec)
	w.relate(AtLeast, of(seg.S).Add(-1), 0, w.phrase()+" turns at least once")
	w.relate(AtLeast, of(seg.T).Plus(of(seg.S), -1), 0, w.phrase()+" leaves a stitch at each turn")
	w.relate(AtLeast, h.count.Plus(of(seg.T), -1), 0, w.phrase()+" leaves no more stitches than there are")
	if t > w.at(h.count) {
		sum, rel := w.story()
		w.fault(grammar.Fault, "turn", w.m().PhraseSpan, fmt.Sprintf("%d sts are left in the short rows, but %d are in hand", t, w.at(h.count)), sum, "turn fewer times, or leave fewer each time", rel...)
	}
	first, _ := w.q(p.Steps[0].Sts)
	w.scoreWidth(of(seg.T), w.tieOf(first))
	w.run.Scores = append(w.run.Scores, Score{Expr: of(seg.S).Times(2), Rows: true, Fabric: w.fabricOf(w.m()), Tie: -1, Mark: w.mark})
	turned := BothEdges
	if w.flat() {
		turned = w.endOfRow(0, true)
	}
	h.lastMark, h.lastPos = w.mark, h.height
	h.pos += 2*n + 1
	h.past = append(h.past, passed{mark: w.mark, rows: 2*n + 1, lrows: of(seg.S).Times(2).Add(1)})
	w.run.Strips = append(w.run.Strips, Strip{Mark: w.mark, Fabric: w.fabricOf(w.m()), Rows: of(seg.S).Times(2), From: h.count, To: h.count.Plus(of(seg.T), -1), Sides: h.sides, Work: h.work})
	wedge := w.move(Wedge, of(seg.S).Times(2), of(seg.T).Times(-1))
	wedge.Steps, wedge.Edge = of(seg.S), turned
	w.strip(whole(1), h.count, h.count)
	h.ahead = Lin{}
	h.height = h.height.plus(w.fabricOf(w.m()), whole(1))
}
