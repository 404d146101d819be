package dsl

import (
	"fmt"
	"strings"

	"gaugewright/grammar"
)

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
	part.loose = part.loose && !ok
	rest, kind := true, Holds
	switch {
	case h.sides == 2:
		if ok && !w.same(n, h.count, w.phrase()+" is one of the two sides") {
			sum, rel := w.story()
			w.fault(grammar.Fault, "sum", w.numSpan(w.d.Quantities[id]), fmt.Sprintf("%d sts are held, but each side has %d", w.v(id), w.at(h.count)), sum, fmt.Sprintf("hold %d sts, or mend the count before", w.at(h.count)), rel...)
			h.count = n
		}
		h.sides, h.parted, kind = 1, true, Leaves
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
	part.held = w.sets(kind, n, name)
	if rest {
		// The rest is another stretch of work from here on, but came through the same places.
		h.line = append(append([]int(nil), h.line...), w.line())
	}
	w.held = append(w.held, &held{mark: w.mark, hand: part, name: name, gone: p.ForGood, span: w.m().PhraseSpan, more: w.copies() - 1})
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

// sets notes that stitches are set aside, and says which move of the work that is.
func (w *walker) sets(kind MoveKind, n Lin, name string) int {
	m := w.move(kind, Lin{}, n.Times(-1))
	m.Name = name
	return len(w.run.Works[w.now.work].Moves) - 1
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
	if w.left() > 0 && (w.now.picked || w.now.upWith && w.now.pos == 0) {
		// Stitches picked up are followed by what was set aside: a heel's gusset, the instep, the other gusset; a front's
		// edge, the back of the neck, the other front.
		w.settle(true)
		w.intoRow(h)
		w.now.noStart, w.now.picked = true, false
		return
	}
	if w.left() > 0 {
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
	w.trace(Resumed, h.name, part.work)
	w.sideSaid()
}

// across takes what was set aside into the row in hand: a pocket's lining, a sleeve. Heights go on as they were.
func (w *walker) across(p *grammar.Resume) {
	name := p.Name
	h := w.findHeld(name.Key)
	switch {
	case h == nil:
		w.fault(grammar.Error, "resume", name.Span, "nothing is set aside as "+name.Text, "", w.heldWayOut(&name))
	case w.left() == 0:
		w.resume(name)
	default:
		w.settle(false)
		w.intoRow(h)
	}
	id, ok := w.q(p.Count)
	if !ok || h == nil {
		return
	}
	if !w.same(of(id), h.hand.count, w.phrase()+" is all of "+h.name) {
		w.fault(grammar.Fault, "sum", w.m().PhraseSpan, fmt.Sprintf("%s has %d sts, but %d are taken up here", h.name, w.at(h.hand.count), w.v(id)), "", "correct the number that is wrong",
			w.place(h.mark, "it is set aside here"))
	}
	w.ties(id)
}

// intoRow takes up what was set aside into the row in hand.
func (w *walker) intoRow(h *held) {
	w.take(h)
	if !w.closesGap(h.hand.count) {
		w.move(Jumps, Lin{}, h.hand.count)
	}
	now := w.now
	now.line = append(append([]int(nil), now.line...), h.hand.line...)
	now.count = now.count.Plus(h.hand.count, 1)
	now.story = append(now.story, change{w.mark, w.at(h.hand.count), h.name})
	w.scoreCount(-1)
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
	if h.more > 0 {
		h.more, h.used = h.more-1, true
		return
	}
	for i, x := range w.held {
		if x == h {
			w.held = append(w.held[:i:i], w.held[i+1:]...)
			return
		}
	}
}

// copies is how many of the piece in hand are made: `make 2` may stand anywhere under its heading.
func (w *walker) copies() int64 {
	for _, m := range w.d.File.Marks {
		if p, ok := m.Phrase.(*grammar.Make); ok && m.Heading == w.m().Heading {
			return max(1, w.num(p.Count))
		}
	}
	return 1
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
		part.parted, part.loose = true, false
		part.line = append(append([]int(nil), h.line...), w.line())
		part.story = []change{{w.mark, w.v(id), "divided"}}
		name := w.setAside(p.Parts[j].Name)
		part.held = w.sets(Holds, part.count, name)
		w.held = append(w.held, &held{mark: w.mark, hand: part, name: name, gone: p.ForGood, span: w.m().PhraseSpan, more: w.copies() - 1})
		w.scoreWidth(of(id), w.tieOf(id))
	}
	w.now = nil
}

func (w *walker) join(p *grammar.Join) {
	if w.now != nil && w.now.pos == 0 && len(p.Names) == 0 && p.Count == nil && w.m().RowWord == grammar.Rounds {
		return // `join in the round`: the two ends of what was just cast on
	}
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
			for n := h.more + 1; n > 0 && !h.gone && !h.used; n-- {
				parts = append(parts, h)
			}
		}
	}
	if w.now != nil {
		w.settle(true)
	}
	sum := whole(0)
	joined := Meeting{Mark: w.mark}
	var story []change
	var first *hand
	var line, from []int
	if w.now != nil && w.at(w.now.count) > 0 {
		first = w.now
		sum = sum.Plus(w.now.count, 1)
		story = append(story, change{w.mark, w.at(w.now.count), "in hand"})
		line, from = append(line, w.now.line...), append(from, w.now.work)
	}
	for _, h := range parts {
		if first == nil {
			x := h.hand
			first = &x
		}
		sum = sum.Plus(h.hand.count, 1)
		joined.Parts = append(joined.Parts, h.hand.count)
		story = append(story, change{h.mark, w.at(h.hand.count), h.name})
		line, from = append(line, h.hand.line...), append(from, h.hand.work)
		w.take(h)
	}
	if first == nil && w.m().TakenUp {
		w.begin(whole(0), "taken up here", CastOn)
		w.now.loose = true
		if id, ok := w.q(p.Count); ok {
			w.state(id, "joined")
		}
		return
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
	for _, x := range parts {
		h.loose = h.loose || x.hand.loose
	}
	h.loose = h.loose || w.m().TakenUp || w.now != nil && w.now.loose
	w.now = h
	w.run.Joins = append(w.run.Joins, joined)
	h.joined = len(w.run.Joins)
	w.trace(Joined, "", from...)
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

// takeUp is `resume left front`, and `rejoin yarn to the remaining 30 sts`, which takes up what was set aside last.
// latestHeld is what was set aside last, of that count where one is said.
func (w *walker) latestHeld(count *grammar.Value) *held {
	var last *held
	id, said := w.q(count)
	for i := len(w.held) - 1; i >= 0; i-- {
		h := w.held[i]
		if h.gone || h.name == "" {
			continue
		}
		if said && w.at(h.hand.count) == w.v(id) {
			return h
		}
		if last == nil {
			last = h
		}
	}
	return last
}

func (w *walker) takeUp(p *grammar.Resume) {
	if p.Across {
		w.across(p)
		return
	}
	name := p.Name
	if w.m().TakenUp {
		w.now = nil
		if h := w.findHeld(name.Key); h != nil && name.Key != "" {
			w.take(h)
		}
		w.begin(whole(0), "taken up here", CastOn)
		w.now.loose = true
	} else if name.Key == "" {
		if h := w.latestHeld(p.Count); h != nil {
			name = grammar.Word{Span: w.m().PhraseSpan, Text: h.name, Key: grammar.Key(h.name)}
		}
		if name.Key == "" {
			w.fault(grammar.Error, "resume", w.m().PhraseSpan, "nothing is set aside that could be taken up", "", "set it aside first, with `hold … as NAME`")
			return
		}
		w.resume(name)
	} else {
		w.resume(name)
	}
	if id, ok := w.q(p.Count); ok && w.now != nil {
		w.state(id, "taken up")
		w.ties(id)
	}
}
