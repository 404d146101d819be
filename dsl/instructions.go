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
		w.resume(p.Name)
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
		if w.now != nil && w.at(w.now.count) == 0 {
			w.end()
		}
		if w.now != nil {
			sum, rel := w.story()
			w.fault(grammar.Error, "in hand", w.m().PhraseSpan, fmt.Sprintf("%d sts are still in hand where a new piece is cast on", w.at(w.now.count)), sum,
				"bind off or hold them first, or say where the new stitches go: `cast on … at the underarm`", rel...)
		}
		w.begin(of(id), "cast on")
		w.builtIn("cast-on")
		w.ties(id)
		w.scoreCount(w.tieOf(id))
		return
	}
	if !w.need("add stitches to") {
		w.begin(of(id), "cast on")
		return
	}
	w.settle(false)
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
		h.story = []change{{w.mark, w.at(h.count), "both sides"}}
	}
	from := w.now.count
	w.change(of(id).Times(times), "cast on")
	if p.EndOfRow {
		w.strip(whole(times), from, w.now.count)
		w.pass(whole(times), times, of(id).Times(times))
	}
	w.scoreWidth(of(id), w.tieOf(id))
	w.scoreCount(-1)
}

// strip notes a stretch of cloth.
func (w *walker) strip(rows, from, to Lin) {
	if w.m().SameRow {
		rows = whole(0)
	}
	w.run.Strips = append(w.run.Strips, Strip{Mark: w.mark, Piece: w.now.piece, Fabric: w.fabricOf(w.m()), Rows: rows, From: from, To: to, Sides: w.now.sides, Panels: w.now.panels})
}

func (w *walker) pickUp(p *grammar.PickUp) {
	var n Lin
	tie := -1
	if id, ok := w.q(p.Count); ok {
		n, tie = of(id), w.tieOf(id)
		w.ties(id)
	} else {
		n = w.picked(p)
	}
	if w.now != nil && w.at(w.now.count) == 0 && w.now.count.IsConst() {
		w.end()
	}
	if w.now == nil {
		w.begin(n, "picked up")
		w.builtIn("pick-up")
		w.scoreCount(tie)
		return
	}
	w.settle(false)
	if w.now.resumed {
		w.now.noStart = true
	}
	w.builtIn("pick-up")
	w.now.picked = true
	w.change(n, "picked up")
	w.scoreWidth(n, tie)
	w.scoreCount(-1)
}

// picked is the count of a pick-up by ratio: from the rows of what it is picked up along, or from the count stated
// after it.
func (w *walker) picked(p *grammar.PickUp) Lin {
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
	done := before.Cm(w.v, g)
	x := new(big.Rat).Sub(length, done)
	x.Mul(x, g[fabric].Rows) // rows wanted, a fraction
	parity := int64(0)
	if step == 2 {
		// Rows worked so far plus these must end on the side wanted.
		even := (w.m().Ending != grammar.RS) != h.firstWS
		if parity = mod(h.pos, 2); !even {
			parity = 1 - parity
		}
	}
	rows := NearestRows(x, step, parity)
	if rows < 1 {
		text := fmt.Sprintf("the work is already %s high here, so it cannot be worked to %s", CmText(done, p.Length.Unit), CmText(length, p.Length.Unit))
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
	y := new(big.Rat).Sub(x, new(big.Rat).SetInt64(parity))
	if step == 1 {
		y = x
	}
	n := RoundTo(y, new(big.Rat).SetInt64(step))
	out := n.Num().Int64()
	if step == 2 {
		out += parity
	}
	return out
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
	w.relate(AtLeast, rows.Add(-1), 0, w.phrase()+" leaves at least one row to work")
	return rows
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
		n := w.at(h.count)
		k := w.hide("groups", Times, "groups", n/in)
		if n%in != 0 {
			sum, rel := w.story()
			w.fault(grammar.Fault, "divide", w.m().PhraseSpan, fmt.Sprintf("%d sts do not divide into groups of %d", n, in), sum, fmt.Sprintf("%d or %d sts would", n-n%in, n-n%in+in), rel...)
		}
		w.relate(Zero, h.count.Plus(of(k), -in), 0, fmt.Sprintf("the count divides by %d for %s", in, w.phrase()))
		delta = of(k).Times(sign * each)
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
		h.count = of(tied)
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

// holdPart ties what is held to the named part it is: the part of the same name, or the first one drafted as large in every
// size. The part is then gone from the work.
func (w *walker) holdPart(p *grammar.Hold, id int) {
	h := w.now
	found := -1
	for j, x := range h.parts {
		if p.Name != nil && x.name != "" && (p.Name.Key == x.name || strings.Contains(p.Name.Key, x.name)) && w.at(x.n) == w.v(id) {
			found = j
			break
		}
		if found < 0 && len(x.n.Terms) == 1 && x.n.Terms[0].Coef == 1 && x.n.Const == 0 && w.d.equalEverywhere(x.n.Terms[0].Quantity, id) {
			found = j
		}
	}
	if found < 0 {
		return
	}
	w.relate(Zero, of(id).Plus(h.parts[found].n, -1), 0, w.phrase()+" holds the part that was laid out")
	h.parts = append(append([]namedPart(nil), h.parts[:found]...), h.parts[found+1:]...)
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

func (w *walker) hold(p *grammar.Hold) {
	if !w.need("hold") {
		return
	}
	w.settle(false)
	h := w.now
	id, ok := w.q(p.Count)
	n := h.count
	if ok {
		n = of(id)
		w.ties(id)
	}
	part := *h
	part.count, part.sides, part.pending = n, 1, -1
	part.story = []change{{w.mark, w.at(n), "held"}}
	part.meanwhile = nil
	part.line = append(append([]int(nil), h.line...), w.line())
	part.resumed, part.laid, part.parted = false, -1, true
	rest := true
	switch {
	case h.sides == 2:
		if ok && !w.same(n, h.count, w.phrase()+" is one of the two sides") {
			sum, rel := w.story()
			w.fault(grammar.Fault, "sum", w.numSpan(w.d.Quantities[id]), fmt.Sprintf("%d sts are held, but each side has %d", w.v(id), w.at(h.count)), sum, fmt.Sprintf("hold %d sts, or mend the count before", w.at(h.count)), rel...)
			h.count = n
		}
		h.sides, h.parted = 1, true
	case w.at(n) == w.at(h.count):
		if ok {
			w.same(n, h.count, w.phrase()+" holds all that is in hand")
		}
		rest = false
	default:
		h.count = h.count.Plus(n, -1)
		h.story = append(h.story, change{w.mark, -w.at(n), "held"})
		if w.at(h.count) < 0 {
			sum, rel := w.story()
			w.fault(grammar.Fault, "below zero", w.m().PhraseSpan, fmt.Sprintf("%d sts are held, but only %d are in hand", w.at(n), w.at(h.count)+w.at(n)), sum, "hold fewer, or mend the count before", rel...)
			h.count = whole(0)
		}
		w.relate(AtLeast, h.count.Add(-1), 0, "some stitches stay in hand beside "+w.phrase())
	}
	if ok && h.laid >= 0 && len(h.grown) == 0 {
		w.run.Layouts[h.laid].Held = append(w.run.Layouts[h.laid].Held[:len(w.run.Layouts[h.laid].Held):len(w.run.Layouts[h.laid].Held)], id)
	}
	if ok {
		w.holdPart(p, id)
	}
	name := w.setAside(p.Name)
	if rest {
		// The rest is another stretch of work from here on, but came through the same places.
		h.line = append(append([]int(nil), h.line...), w.line())
	}
	w.held = append(w.held, &held{mark: w.mark, hand: part, name: name, gone: p.ForGood, span: w.m().PhraseSpan})
	if ok && h.sides == 1 {
		w.equalParts(id, fmt.Sprint("hold ", h.line[0]))
	}
	if ok {
		w.scoreWidth(n, w.tieOf(id))
	}
	if !rest {
		w.settle(true)
		w.now = nil
		return
	}
	w.scoreCount(-1)
}

func (w *walker) line() int {
	w.lines++
	return w.lines
}

// setAside is the name work is set aside under; it is a place too, where the instruction that sets it aside begins.
func (w *walker) setAside(n *grammar.Word) string {
	if n == nil {
		return ""
	}
	h := w.now
	w.labels[w.name(n.Key)] = &label{mark: w.mark, height: h.height, start: h.start, line: h.line[len(h.line)-1]}
	if w.swap != nil {
		return w.swap(n.Key)
	}
	return n.Text
}

// equalParts keeps parts equal that were drafted equal in every size and came from the same work.
func (w *walker) equalParts(id int, group string) {
	q := w.d.Quantities[id]
	for _, o := range w.groups[group] {
		if o == id {
			return
		}
		equal := true
		for s := range q.Drafted {
			equal = equal && q.Drafted[s] == w.d.Quantities[o].Drafted[s]
		}
		if equal {
			w.relate(Zero, of(id).Plus(of(o), -1), 0, "parts drafted equal stay equal")
			break
		}
	}
	w.groups[group] = append(w.groups[group], id)
}

func (w *walker) resume(name grammar.Word) {
	h := w.findHeld(name.Key)
	if h == nil {
		w.fault(grammar.Error, "resume", name.Span, "nothing is set aside as "+name.Text, "", w.heldWayOut(&name))
		return
	}
	if w.now != nil && w.at(w.now.count) > 0 && w.now.picked {
		// Stitches picked up beside the work in hand are followed by what was set aside: a heel's gusset, the instep, the
		// other gusset. It is taken up into the same row.
		w.settle(true)
		w.take(h)
		now := w.now
		now.line = append(append([]int(nil), now.line...), h.hand.line...)
		now.count, now.noStart, now.picked = now.count.Plus(h.hand.count, 1), true, false
		now.story = append(now.story, change{w.mark, w.at(h.hand.count), h.name})
		w.scoreCount(-1)
		return
	}
	if w.now != nil && w.at(w.now.count) > 0 {
		sum, rel := w.story()
		w.fault(grammar.Fault, "in hand", w.m().PhraseSpan, fmt.Sprintf("%d sts are still in hand where %s is resumed", w.at(w.now.count), h.name), sum, "bind off or hold them first", rel...)
	}
	w.end()
	w.take(h)
	part := h.hand
	w.now = &part
	w.now.resumed = true
	w.now.fabric = -1
	w.now.piece = w.heading(w.mark)
	w.sideSaid()
}

// heldWayOut is what to try where nothing is set aside under a name.
func (w *walker) heldWayOut(n *grammar.Word) string {
	var names []string
	for _, x := range w.held {
		if x.name != "" {
			names = append(names, x.name)
		}
	}
	if best := grammar.Nearest(n.Key, names); best != "" {
		return "did you mean " + best + "?"
	}
	if len(names) > 0 {
		return "set aside now: " + andList(names)
	}
	return "set it aside first, with `hold … as " + n.Text + "`"
}

func (w *walker) take(h *held) {
	for i, x := range w.held {
		if x == h {
			w.held = append(w.held[:i:i], w.held[i+1:]...)
			return
		}
	}
}

func (w *walker) divide(p *grammar.Divide) {
	if !w.need("divide") {
		return
	}
	w.settle(true)
	h := w.now
	sum := whole(0)
	for j := range p.Parts {
		id, ok := w.q(p.Parts[j].Count)
		if !ok {
			continue
		}
		sum = sum.Plus(of(id), 1)
		w.ties(id)
		w.equalParts(id, fmt.Sprint("divide ", w.mark))
	}
	if !w.same(sum, h.count, w.phrase()+" adds up to what is in hand") {
		text, rel := w.story()
		w.fault(grammar.Fault, "sum", w.m().PhraseSpan, fmt.Sprintf("%s = %d, but %d sts are in hand", w.parts(p.Parts), w.at(sum), w.at(h.count)), text, apart(w.at(sum), w.at(h.count)), rel...)
	}
	w.builtIn("divide")
	for j := range p.Parts {
		id, ok := w.q(p.Parts[j].Count)
		if !ok {
			continue
		}
		part := *h
		part.count, part.sides, part.pending, part.laid, part.meanwhile = of(id), 1, -1, -1, nil
		part.parted = true
		part.line = append(append([]int(nil), h.line...), w.line())
		part.story = []change{{w.mark, w.v(id), "divided"}}
		name := w.setAside(p.Parts[j].Name)
		w.held = append(w.held, &held{mark: w.mark, hand: part, name: name, span: w.m().PhraseSpan})
		w.scoreWidth(of(id), w.tieOf(id))
	}
	w.now = nil
}

func (w *walker) join(p *grammar.Join) {
	var parts []*held
	if len(p.Names) > 0 {
		for _, n := range p.Names {
			h := w.findHeld(n.Key)
			if h == nil {
				if w.now != nil {
					continue // the part in hand may be named too
				}
				w.fault(grammar.Error, "resume", n.Span, "nothing is set aside as "+n.Text, "", w.heldWayOut(&n))
				return
			}
			parts = append(parts, h)
		}
	} else {
		for _, h := range w.held {
			if !h.gone {
				parts = append(parts, h)
			}
		}
	}
	if w.now != nil {
		w.settle(true)
	}
	sum := whole(0)
	var story []change
	var first *hand
	var line []int
	if w.now != nil && w.at(w.now.count) > 0 {
		first = w.now
		sum = sum.Plus(w.now.count, 1)
		story = append(story, change{w.mark, w.at(w.now.count), "in hand"})
		line = append(line, w.now.line...)
	}
	for _, h := range parts {
		if first == nil {
			x := h.hand
			first = &x
		}
		sum = sum.Plus(h.hand.count, 1)
		story = append(story, change{h.mark, w.at(h.hand.count), h.name})
		line = append(line, h.hand.line...)
		w.take(h)
	}
	if first == nil {
		w.fault(grammar.Fault, "nothing", w.m().PhraseSpan, "there is nothing to join", "", "hold or divide first")
		return
	}
	if len(p.Names) > 0 && len(parts) > 0 {
		// After a join heights go on from the first-named part.
		x := parts[0].hand
		first = &x
	}
	h := &hand{piece: w.heading(w.mark), count: sum, sides: 1, pos: first.pos, firstWS: first.firstWS, round: first.round, roundSet: first.roundSet,
		height: first.height, start: first.height, noStart: true, line: append(line, w.line()), story: story, pending: -1, laid: -1, fabric: -1, lastMark: -1}
	w.now = h
	w.builtIn("join")
	id, ok := w.q(p.Count)
	if !ok {
		w.scoreCount(-1)
		return
	}
	w.state(id, "joined")
	w.ties(id)
	w.scoreCount(w.tieOf(id))
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
	w.relate(AtLeast, w.now.count.Add(-used), 0, "shaping does not eat into the panel of "+w.phrase())
	if w.now.pending >= 0 && w.run.Scores[w.now.pending].Tie < 0 {
		w.run.Scores[w.now.pending].Panels = w.now.panels
	} else if w.now.pending >= 0 {
		w.fault(grammar.Note, "panel tied", w.m().PhraseSpan, "the count before this panel is tied, and its width is measured without the panel", "", "tie the count stated after the panel begins", w.place(w.run.Scores[w.now.pending].Mark, "the tied count"))
	}
	if p.After != nil {
		w.run.Layouts = append(w.run.Layouts, Laid{Mark: w.mark, Total: w.now.count, Prev: -1})
	}
}

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
		l := Laid{Mark: w.mark, Total: total, Prev: -1, Grown: h.grown}
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
			w.fault(grammar.Fault, "sum", w.numSpan(w.d.Quantities[id]), fmt.Sprintf("%d sts are stated, but %d are in hand", n, have), sum+fmt.Sprintf(", and %d so far from the shaping meanwhile", w.partly()), "correct the number that is wrong", rel...)
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

func (w *walker) closeWork(p *grammar.Close) {
	if p.A != nil && p.B != nil {
		w.pair(p.A, p.B)
		return
	}
	if !w.need("finish") {
		return
	}
	w.settle(true)
	id, ok := w.q(p.Count)
	if ok {
		n := w.v(id)
		if p.How == grammar.Graft && 2*n == w.at(w.now.count) {
			w.same(of(id).Times(2), w.now.count, w.phrase()+" is half of what is in hand")
		} else {
			w.state(id, "")
		}
		w.ties(id)
		if t := w.tieOf(id); t >= 0 {
			w.scoreCount(t)
		}
	}
	w.now = nil
}

// pair ends two held sets against one another: they must be equal.
func (w *walker) pair(a, b *grammar.Word) {
	ha, hb := w.findHeld(a.Key), w.findHeld(b.Key)
	if ha == nil && hb == nil {
		w.fault(grammar.Error, "resume", a.Span, "nothing is set aside as "+a.Text, "", w.heldWayOut(a))
		return
	}
	count := func(h *held, n *grammar.Word) (Lin, bool) {
		if h != nil {
			return h.hand.count, true
		}
		if w.now != nil {
			return w.now.count, true
		}
		w.fault(grammar.Error, "resume", n.Span, "nothing is set aside as "+n.Text, "", w.heldWayOut(n))
		return Lin{}, false
	}
	na, ok := count(ha, a)
	if !ok {
		return
	}
	nb, ok := count(hb, b)
	if !ok {
		return
	}
	if !w.same(na, nb, a.Text+" and "+b.Text+" are equal") {
		w.fault(grammar.Fault, "pair", w.m().PhraseSpan, fmt.Sprintf("%s has %d sts and %s has %d", a.Text, w.at(na), b.Text, w.at(nb)), "They must be equal to be worked together.", "decrease in the larger one first, or mend the counts before")
	}
	if ha != nil {
		w.take(ha)
	}
	if hb != nil {
		w.take(hb)
	}
	if ha == nil || hb == nil {
		w.now = nil
	}
}
