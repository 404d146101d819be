package dsl

import (
	"fmt"
	"math/big"
	"strings"

	"gaugewright/grammar"
)

// do works one instruction.
func (w *walker) do(m *grammar.Mark) {
	switch p := m.Phrase.(type) {
	case *grammar.CastOn:
		w.castOn(p)
	case *grammar.PickUp:
		w.pickUp(p)
	case *grammar.Work:
		w.workRows(p)
	case *grammar.Shape:
		w.shape(p)
	case *grammar.Repeat:
		w.repeat(p)
	case *grammar.Evenly:
		w.evenly(p)
	case *grammar.BindOff:
		w.bindOff(p)
	case *grammar.Turn:
		w.turn(p)
	case *grammar.Hold:
		w.hold(p)
	case *grammar.Resume:
		w.takeUp(p)
	case *grammar.Divide:
		w.divide(p)
	case *grammar.Join:
		w.join(p)
	case *grammar.Panel:
		w.panel(p)
	case *grammar.EndPanel:
		if w.now != nil && len(w.now.panels) > 0 {
			w.now.panels = w.now.panels[:len(w.now.panels)-1]
		} else {
			w.fault(grammar.Fault, "panel", m.PhraseSpan, "no panel is open here", "", "begin one with `panel of 24 sts in cable`")
		}
	case *grammar.Space:
		w.space(p)
	case *grammar.Layout:
		w.layout(p)
	case *grammar.Statement:
		w.statement(p)
	case *grammar.GaugeSaid:
		w.gaugeSaid(p)
	case *grammar.SizesSaid:
		w.sizesSaid(p)
	case *grammar.Twin:
		w.twinWork(p)
	case *grammar.Close:
		w.closeWork(p)
	case *grammar.Spelled:
		w.spelledOut(p)
	case *grammar.NextSide:
		if w.now != nil {
			w.now.firstWS = (p.Side == grammar.WS) == (w.now.pos%2 == 0)
		}
	case *grammar.Figure:
		if id, ok := w.q(p.Value); ok {
			w.ties(id)
			if t := w.tieOf(id); t >= 0 {
				w.scoreWidth(of(id), t)
			}
		}
	}
}

func (w *walker) castOn(p *grammar.CastOn) {
	id, _ := w.q(p.Count)
	added := p.More || p.Where != nil || p.EndOfRow
	if !added {
		if w.left() == 0 {
			w.end()
		}
		if w.now != nil {
			sum, rel := w.story()
			w.fault(grammar.Error, "in hand", w.m().PhraseSpan, fmt.Sprintf("%d sts are still in hand where a new piece is cast on", w.at(w.now.count)), sum,
				"bind off or hold them first, or say where the new stitches go: `cast on … at the underarm`", rel...)
		}
		w.begin(w.allNeedles(p, id), "cast on", CastOn)
		w.builtIn("cast-on")
		if id >= 0 {
			w.tiesOf(id, w.now.count)
		}
		w.scoreCount(w.tieOf(id))
		return
	}
	if !w.need("add stitches to") {
		w.begin(of(id), "cast on", CastOn)
		return
	}
	w.settle(false)
	w.builtIn("underarm")
	w.ties(id)
	times := int64(1)
	if p.Rows != nil {
		times = w.num(p.Rows)
		if times == 0 {
			times = 1
		}
	}
	if h := w.now; h.sides == 2 && p.Where != nil && (strings.Contains(p.Where.Key, "gap") || strings.HasPrefix(p.Where.Key, "over")) {
		// Cast on over the gap between the two sides, they are one again.
		h.count, h.sides = h.count.Times(2), 1
		w.move(Meets, Lin{}, Lin{})
		h.story = []change{{w.mark, w.at(h.count), "both sides"}}
	}
	times *= w.places(p.Where)
	from := w.now.count
	w.change(of(id).Times(times), "cast on")
	if p.EndOfRow || !w.closesGap(of(id).Times(times)) {
		w.jump(of(id).Times(times), p.EndOfRow && times == 1)
	}
	if p.EndOfRow {
		w.strip(whole(times), from, w.now.count).By = Lin{}
		w.pass(whole(times), times, of(id).Times(times))
	}
	w.scoreWidth(of(id), w.tieOf(id))
	w.scoreCount(-1)
	if p.Where != nil {
		w.equalParts(id, fmt.Sprint("cast on ", w.now.line[0], " ", p.Where.Key))
	}
}

// places is how many places along the row a phrase speaks of: `at each underarm`, `along each side of the flap` are two.
func (w *walker) places(where *grammar.Word) int64 {
	if where == nil || w.now.sides == 2 {
		return 1 // counts are per side
	}
	rest, each := strings.CutPrefix(where.Key, "each ")
	if !each {
		return 1
	}
	for _, word := range strings.Fields(rest) {
		switch word {
		case "underarm", "side", "edge", "end", "front", "armhole", "sleeve":
			return 2
		}
	}
	return 1
}

// allNeedles is a cast-on whose count is that of each needle. The last needle keeps what it has more or less than the others.
func (w *walker) allNeedles(p *grammar.CastOn, id int) Lin {
	n := of(id)
	if p.Needles < 0 {
		w.fault(grammar.Error, "needles", w.m().PhraseSpan, "how many needles there are is not said", "", "say it after the bar: `on 3 needles`")
		return n
	}
	if n = n.Times(max(1, p.Needles)); p.Rest == nil {
		return n
	}
	rest, _ := w.q(p.Rest)
	w.relate(Zero, of(rest).Plus(of(id), -1).Add(w.v(id)-w.v(rest)), 0, w.phrase()+" has one needle that differs from the others")
	return n.Plus(of(rest), 1)
}

// strip notes a stretch of cloth, and the move that makes it.
func (w *walker) strip(rows, from, to Lin) *Move {
	if w.m().SameRow {
		rows = whole(0)
	}
	h := w.now
	w.run.Strips = append(w.run.Strips, Strip{Mark: w.mark, Fabric: w.fabricOf(w.m()), Rows: rows, From: from, To: to, Sides: h.sides, Work: h.work, Panels: h.panels})
	m := w.move(Goes, rows, to.Plus(from, -1))
	h.ahead = h.ahead.Plus(rows, 1)
	return m
}

// jump notes stitches added at once: at the end of the next row, or alike at both sides of where they go.
func (w *walker) jump(by Lin, atEnd bool) {
	m := w.move(Jumps, Lin{}, by)
	if atEnd && w.flat() {
		m.Edge = w.endOfRow(0, true)
	}
}

func (w *walker) pickUp(p *grammar.PickUp) {
	var n Lin
	tie, places := -1, int64(1)
	if id, ok := w.q(p.Count); ok {
		n, tie = of(id), w.tieOf(id)
		w.ties(id)
		if w.now != nil {
			places = w.places(p.Where)
		}
	} else {
		n = w.picked(p)
	}
	unknown := p.Count == nil && w.m().TakenUp
	if w.now != nil && w.at(w.now.count) == 0 && w.now.count.IsConst() {
		w.end()
	}
	if w.now == nil {
		w.begin(n, "picked up", PickedUp)
		w.now.upWith = true
		w.now.loose = unknown
		w.builtIn("pick-up")
		w.scoreCount(tie)
		w.alikePicked(p)
		return
	}
	w.settle(false)
	if w.now.resumed {
		w.now.noStart = true
	}
	w.builtIn("pick-up")
	w.now.picked = true
	w.change(n.Times(places), "picked up")
	w.jump(n.Times(places), false)
	w.scoreWidth(n, tie)
	w.scoreCount(-1)
	w.alikePicked(p)
}

// alikePicked keeps stitches equal that are picked up into the same row from edges drafted alike, as from the two fronts of a
// neck: the same number in every size, and the same tie.
func (w *walker) alikePicked(p *grammar.PickUp) {
	id, ok := w.q(p.Count)
	if !ok {
		return
	}
	tie := ""
	if q := w.d.Quantities[id]; q.Tie != nil {
		tie = w.d.File.Text(q.TieAt)
	}
	w.equalParts(id, fmt.Sprint("pick up ", w.now.line[0], " ", w.now.pos, " ", tie))
}

// picked is the count of a pick-up by ratio: from the rows of what it is picked up along, or from the count stated
// after it.
func (w *walker) picked(p *grammar.PickUp) Lin {
	if w.m().TakenUp {
		return whole(0)
	}
	a, b := max(1, w.num(p.PerSts)), max(1, w.num(p.PerRows))
	if p.Of != nil && w.namesPlace(p.Of) {
		if l, ok := w.along(p.Of); ok {
			if !l.hasRow {
				w.fault(grammar.Error, "label", p.Of.Span, p.Of.Text+" takes no rows that stitches could be picked up along", "", "name the instruction that works the rows")
				return whole(0)
			}
			rows := w.at(l.rows)
			n := w.hide("picked", Stitches, "picked up", (2*rows*a+b)/(2*b))
			w.run.Pickups = append(w.run.Pickups, Pickup{Mark: w.mark, Count: n, Rows: l.rows, Fabric: w.fabricOf(w.m()), Sts: p.PerSts, PerRows: p.PerRows})
			return of(n)
		}
		return whole(0)
	}
	had := int64(0)
	if w.now != nil {
		had = w.at(w.now.count)
	}
	for i := w.mark + 1; i < len(w.d.File.Marks) && i <= w.mark+3; i++ {
		if s, ok := w.d.File.Marks[i].Phrase.(*grammar.Statement); ok && s.Value.Unit == grammar.Stitches {
			n := w.hide("picked", Stitches, "picked up", max(0, w.num(s.Value)-had))
			w.run.Pickups = append(w.run.Pickups, Pickup{Mark: w.mark, Count: n, Fabric: w.fabricOf(w.m()), Sts: p.PerSts, PerRows: p.PerRows, Free: true})
			return of(n)
		}
	}
	w.fault(grammar.Error, "ratio", w.m().PhraseSpan, "how many stitches this gives is not said", "", "state the count after it, `{92 sts}`, or the rows: `for every 4 rows of LABEL`")
	return whole(0)
}

// namesPlace says whether a word is a name of the draft or a built-in place; `along the front edge` is neither, and only tells
// the knitter where.
func (w *walker) namesPlace(n *grammar.Word) bool {
	_, named := w.d.names[n.Key]
	_, bare := w.d.names[strings.TrimPrefix(n.Key, "the ")]
	return named || bare || builtKey(strings.TrimPrefix(n.Key, "the ")) != ""
}

// along is a label whose rows are meant, wherever they were worked.
func (w *walker) along(name *grammar.Word) (*label, bool) {
	for _, k := range []string{w.name(name.Key), name.Key} {
		if l, ok := w.labels[k]; ok {
			return l, true
		}
	}
	now := w.now
	w.now = nil
	l, ok := w.lookup(name)
	w.now = now
	return l, ok
}

// fewRows worked straight between shaping do not end it.
const fewRows = 4

func (w *walker) workRows(p *grammar.Work) {
	if !w.need("work on") {
		return
	}
	w.settle(false)
	h := w.now
	var rows Lin
	switch {
	case p.Match != nil:
		rows = w.matching(p)
	case p.Repeats != nil:
		id, _ := w.q(p.Repeats)
		per := w.num(p.Rows)
		rows = of(id).Times(per)
		w.ties(id)
		w.scoreRows(rows, w.tieOf(id))
		w.parity(rows)
	case p.Rows != nil:
		id, _ := w.q(p.Rows)
		w.ties(id)
		rows = of(id)
		w.scoreRows(rows, w.tieOf(id))
		w.parity(rows)
	default:
		rows = w.workLength(p)
	}
	if w.at(rows) < 0 {
		rows = whole(0)
	}
	if p.Length != nil || w.at(rows) > fewRows {
		h.shaping = false
	}
	w.strip(rows, h.count, h.count)
	w.pass(rows, w.at(rows), whole(0))
	w.rowEnding()
}

// rowEnding checks a stated ending of an instruction whose rows are counted.
func (w *walker) rowEnding() {
	m := w.m()
	if m.Ending == grammar.NoSide || !w.flat() {
		return
	}
	ends := grammar.WS
	if (w.now.pos%2 == 1) != w.now.firstWS {
		ends = grammar.RS
	}
	if ends != m.Ending {
		w.fault(grammar.Fault, "ending", m.PhraseSpan, fmt.Sprintf("this ends with a %s row, not a %s row: %d rows have been worked", sideName(ends), sideName(m.Ending), w.now.pos), "", "work one row more or less, or mend the ending")
		w.now.firstWS = !w.now.firstWS
	}
}

func sideName(s grammar.Side) string {
	if s == grammar.RS {
		return "RS"
	}
	return "WS"
}

// workLength is the rows of `work 6 cm` and `work to 38 cm`: the number of rows nearest to the length that ends on the
// side asked for (a WS row where nothing is said), halves upwards.
func (w *walker) workLength(p *grammar.Work) Lin {
	h := w.now
	id, _ := w.q(p.Length)
	if p.Length == nil {
		w.fault(grammar.Error, "work", w.m().PhraseSpan, "how far to work is not said", "", "give rows or a length")
		return whole(0)
	}
	fabric := w.fabricOf(w.m())
	step := int64(1)
	if w.flat() {
		step = 2
	}
	var before Height
	place := w.mark
	if p.To {
		switch {
		case w.unmeasured && (h.loose || p.From != nil || h.noStart):
		case p.From != nil:
			l, ok := w.lookup(p.From)
			if !ok {
				return whole(0)
			}
			before, place = h.height.since(l.height), l.mark
		case h.noStart:
			w.fault(grammar.Error, "from", w.m().PhraseSpan, "measured from where? the work in hand was joined or picked up to, so it has no cast-on of its own", "", "add `from LABEL`, or `from the join`, `from the pick-up`")
			return whole(0)
		default:
			before, place = h.height.since(h.start), h.begun
		}
	}
	q := w.d.Quantities[id]
	length, _ := w.d.Stated(q, w.d.DraftedSize(w.size))
	g := w.d.DraftedGauges()
	done := before.Size(w.v, g)
	x := FractionFrom(length).Minus(done).Times(FractionFrom(g[fabric].Rows)) // rows wanted
	parity := int64(0)
	if step == 2 {
		// Rows worked so far plus these must end on the side wanted.
		even := (w.m().Ending != grammar.RS) != h.firstWS
		if parity = mod(h.pos, 2); !even {
			parity = 1 - parity
		}
	}
	rows := nearestRows(x, step, parity)
	if rows < 1 && w.unmeasured {
		rows = step
	}
	if rows < 1 {
		text := fmt.Sprintf("the work is already %s high here, so it cannot be worked to %s", CmText(done.Rat(), p.Length.Unit), CmText(length, p.Length.Unit))
		if !p.To {
			text = "this length is less than a row"
		}
		var rel []grammar.Related
		if h.lastMark >= 0 {
			rel = append(rel, w.place(h.lastMark, "after this"))
		}
		w.fault(grammar.Fault, "length", numAt(p.Length, w.d.index(q, w.size)).Span, text, "", "shape faster, or work to a greater length", rel...)
		rows = step
		if step == 2 && parity == 1 {
			rows = 1
		}
		if rows < 1 {
			rows = 1
		}
	}
	r := w.hide("rows", Rows, "rows", rows)
	w.d.Quantities[r].Least = 1
	w.relate(AtLeast, of(r).Add(-1), 0, w.phrase()+" leaves at least one row to work")
	w.parity(of(r))
	w.run.Lengths = append(w.run.Lengths, LengthRule{Mark: w.mark, Rows: r, Length: id, Before: before, From: place, Fabric: fabric, Step: step})
	return of(r)
}

// NearestRows is the whole number of rows nearest to x that has the given parity where step is 2; halves go upwards.
func NearestRows(x *big.Rat, step, parity int64) int64 {
	return nearestRows(FractionFrom(x), step, parity)
}

func nearestRows(x Fraction, step, parity int64) int64 {
	if step == 1 {
		parity = 0
	}
	n, _ := x.Minus(FractionOf(parity)).RoundTo(FractionOf(step)).Floor()
	return n + parity
}

// CmText is a length as a tape reads it, in the unit given: to 0.5 cm, or to 1/4 in.
func CmText(x *big.Rat, u grammar.Unit) string {
	switch u {
	case grammar.Inches:
		y := RoundTo(new(big.Rat).Quo(x, two54), big.NewRat(1, 4))
		return trim(y) + " in"
	case grammar.Millimetres:
		return trim(RoundTo(new(big.Rat).Mul(x, big.NewRat(10, 1)), big.NewRat(5, 1))) + " mm"
	}
	return trim(RoundTo(x, big.NewRat(1, 2))) + " cm"
}

func trim(x *big.Rat) string {
	if x.IsInt() {
		return x.Num().String()
	}
	s := x.FloatString(2)
	for s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	return s
}

// matching is `work to match LABEL of PIECE`: as many rows as were worked there from the cast-on to that place.
func (w *walker) matching(p *grammar.Work) Lin {
	l, ok := w.along(p.Match)
	if !ok {
		return whole(0)
	}
	there := l.height.since(l.start).rows()
	here := w.now.height.since(w.now.start).rows()
	rows := there.Plus(here, -1)
	if w.at(rows) < 1 {
		w.fault(grammar.Fault, "match", w.m().PhraseSpan, fmt.Sprintf("%s was reached after %d rows, but %d are already worked here", p.Match.Text, w.at(there), w.at(here)), "", "work fewer rows before this, or match a later place", w.place(l.mark, "it is here"))
	}
	if !w.cloths(l.height.since(l.start)) && w.at(rows) > 0 {
		return w.asHigh(l, rows)
	}
	w.relate(AtLeast, rows.Add(-1), 0, w.phrase()+" leaves at least one row to work")
	return rows
}

// asHigh is the rows that bring the work as high as a label is in a piece that is knitted at a gauge of its own: as many rows
// would be another height.
func (w *walker) asHigh(l *label, drafted Lin) Lin {
	step := int64(1)
	if w.flat() {
		step = 2
	}
	r := w.hide("rows", Rows, "rows", w.at(drafted))
	w.d.Quantities[r].Least = 1
	before := w.now.height.since(w.now.start)
	for _, x := range l.height.since(l.start) {
		before = before.plus(x.Fabric, x.Rows.Times(-1))
	}
	w.relate(AtLeast, of(r).Add(-1), 0, w.phrase()+" leaves at least one row to work")
	w.parity(of(r))
	w.run.Matches = append(w.run.Matches, LengthRule{Mark: w.mark, Rows: r, Length: -1, Before: before, From: l.mark, Fabric: w.fabricOf(w.m()), Step: step})
	return of(r)
}

func (w *walker) evenly(p *grammar.Evenly) {
	if !w.need("increase or decrease in") {
		return
	}
	w.settle(false)
	h := w.now
	sign := int64(-1)
	if p.Increase {
		sign = 1
	}
	var delta Lin
	from := h.count
	tied := -1
	switch {
	case p.InEvery != nil:
		// `decrease 1 st in every 4` is exact: the count must divide.
		in, each := max(1, w.num(p.InEvery)), int64(1)
		if p.Count != nil {
			each = max(1, w.num(p.Count))
		}
		delta = w.groupsOf(in).Times(sign * each)
	case p.Count != nil:
		id, _ := w.q(p.Count)
		delta = of(id).Times(sign)
		w.run.Relations = append(w.run.Relations, Relation{Kind: Costly, Expr: of(id), Mark: w.mark, Why: w.phrase(), Soft: "an increase becomes a decrease, or the other way about"})
		if p.To != nil {
			tied, _ = w.q(p.To)
		}
		w.ties(id)
	case p.To != nil:
		tied, _ = w.q(p.To)
		n := w.v(tied) - w.at(h.count)
		if !p.Either && n*sign < 0 {
			sum, rel := w.story()
			verb := "decrease"
			if p.Increase {
				verb = "increase"
			}
			w.fault(grammar.Fault, "evenly", w.m().PhraseSpan, fmt.Sprintf("%d sts cannot %s to %d", w.at(h.count), verb, w.v(tied)), sum, "mend one of the counts, or say `increase or decrease evenly to`", rel...)
		}
		h.count, h.loose = of(tied), false
		h.story = []change{{w.mark, w.v(tied), "evenly to"}}
		w.strip(whole(1), from, h.count)
		w.pass(whole(1), 1, h.count.Plus(from, -1))
		w.ties(tied)
		w.scoreCount(w.tieOf(tied))
		if !p.Either {
			w.run.Relations = append(w.run.Relations, Relation{Kind: Costly, Expr: h.count.Plus(from, -1).Times(sign), Mark: w.mark, Why: w.phrase(), Soft: "an increase becomes a decrease, or the other way about"})
		}
		return
	default:
		w.fault(grammar.Error, "evenly", w.m().PhraseSpan, "how many stitches is not said", "", "give a number: `decrease 8 sts evenly`")
		return
	}
	w.reachEvenly(p, from, delta)
	what := "decreased evenly"
	if p.Increase {
		what = "increased evenly"
	}
	w.change(delta, what)
	w.strip(whole(1), from, h.count)
	w.pass(whole(1), 1, delta)
	if tied >= 0 {
		w.state(tied, "")
		w.ties(tied)
	}
	w.scoreCount(w.tieOf(tied))
}

// groupsOf divides the stitches in hand into groups of so many, exactly, and is how many there are.
func (w *walker) groupsOf(in int64) Lin {
	count := w.now.count
	n := w.at(count)
	k := w.hide("groups", Times, "groups", n/in)
	if n%in != 0 {
		sum, rel := w.story()
		w.fault(grammar.Fault, "divide", w.m().PhraseSpan, fmt.Sprintf("%d sts do not divide into groups of %d", n, in), sum, fmt.Sprintf("%d or %d sts would", n-n%in, n-n%in+in), rel...)
	}
	w.relate(Zero, count.Plus(of(k), -in), 0, fmt.Sprintf("the count divides by %d for %s", in, w.phrase()))
	return of(k)
}

// reachEvenly keeps an even change within what one row can do, as the draft does: working two together takes away half of the
// stitches at most, and making one beside each adds as many as there are. Where the draft goes to that limit (k2tog all
// round) the new numbers do.
func (w *walker) reachEvenly(p *grammar.Evenly, from, delta Lin) {
	n, d := w.at(from), w.at(delta)
	if p.InEvery != nil || d == 0 {
		return
	}
	room, each := from.Plus(delta, -1), n-d // as many made as there are at most
	if d < 0 {
		room, each = from.Plus(delta, 2), n+2*d
	}
	switch {
	case each == 0:
		w.relate(Zero, room, 0, w.phrase()+" takes every stitch, as in the draft")
	case each > 0:
		w.relate(AtLeast, room, 0, w.phrase()+" can be worked in one row")
	}
}

func (w *walker) panel(p *grammar.Panel) {
	if !w.need("lay a panel in") {
		return
	}
	id, _ := w.q(p.Count)
	n := w.v(id)
	used := n
	for _, x := range w.now.panels {
		used += x.Stitches
	}
	if after := w.num(p.After); used+after > w.at(w.now.count) {
		sum, rel := w.story()
		w.fault(grammar.Fault, "panel", w.m().PhraseSpan, panelNeeds(after, used, w.at(w.now.count)), sum, "begin the panel earlier in the row, or cast on more", rel...)
	}
	w.now.panels = append(append([]PanelPart(nil), w.now.panels...), PanelPart{w.fabricOf(w.m()), n})
	// Where the draft has stitches beside it, some are left at any gauge.
	beside := w.at(w.now.count) - used
	least := min(2, max(0, beside))
	if after := w.num(p.After); p.After != nil && (after == 0 || after == beside) {
		least = min(1, least) // it stands at an edge
	}
	w.relate(AtLeast, w.now.count.Add(-used-least), 0, "shaping does not eat into the panel of "+w.phrase())
	if w.now.pending >= 0 && w.run.Scores[w.now.pending].Tie < 0 {
		w.run.Scores[w.now.pending].Panels = w.now.panels
	} else if w.now.pending >= 0 {
		w.fault(grammar.Note, "panel tied", w.m().PhraseSpan, "the count before this panel is tied, and its width is measured without the panel", "", "tie the count stated after the panel begins", w.place(w.run.Scores[w.now.pending].Mark, "the tied count"))
	}
	if p.After != nil {
		w.run.Layouts = append(w.run.Layouts, Laid{Mark: w.mark, Total: w.now.count, Prev: -1, Join: -1})
	}
}
