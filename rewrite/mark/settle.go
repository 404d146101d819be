package mark

import (
	"fmt"
	"math/big"
	"strings"

	"gaugewright/grammar"
)

func bigInt(n int) *big.Rat { return big.NewRat(int64(n), 1) }

// maxTrials bounds how often the text is worked while its readings are settled.
const maxTrials = 600

// problem is an error or a fault at a candidate.
type problem struct {
	of   int // index in found, -1 where it is at none of them
	diag grammar.Diagnostic
}

func (p *problem) key() string { return fmt.Sprint(p.of, " ", p.diag.Check) }

// problems works the text as it is now marked.
func (e *engine) problems() []problem {
	new, _, marks := e.write()
	f, diags := check(e.name, new)
	at := map[int]int{}
	for i, m := range marks {
		if m >= 0 {
			at[m] = i
		}
	}
	var out []problem
	for _, d := range diags {
		if d.Severity < grammar.Fault {
			continue
		}
		p := problem{of: -1, diag: d}
		for _, m := range f.Marks {
			if m.Span.Start <= d.Span.Start && d.Span.End <= m.Span.End {
				if i, ok := at[m.Span.Start]; ok {
					p.of = i
				}
			}
		}
		if p.of < 0 && len(f.Marks) == 0 || p.of < 0 && d.Severity == grammar.Error {
			// torn or unread: the last brace at or before it
			last := -1
			for i, m := range marks {
				if m >= 0 && m <= d.Span.Start {
					last = i
				}
			}
			p.of = last
		}
		out = append(out, p)
	}
	return out
}

// settle works the text again and again, in its order, and settles each thing that does not come out: by another reading, by saying
// that what led to it is not followed, by leaving it unmarked, or, where all of that would be untrue, as a contradiction of the
// text itself.
func (e *engine) settle() {
	for range maxTrials {
		next := (*problem)(nil)
		list := e.problems()
		errors := false
		for i := range list {
			errors = errors || list[i].diag.Severity == grammar.Error
		}
		for i := range list {
			p := &list[i]
			if errors != (p.diag.Severity == grammar.Error) || e.accepted[p.key()] {
				continue
			}
			next = p
			break
		}
		if next == nil {
			break
		}
		e.solve(next, len(list))
	}
	e.confirm()
}

// solve changes something about one problem, or accepts it.
func (e *engine) solve(p *problem, before int) {
	if p.of < 0 {
		if e.proposal != nil && e.measures && p.diag.Severity == grammar.Error {
			e.measures = false
			return
		}
		e.accepted[p.key()] = true
		return
	}
	c := &e.found[p.of]
	if p.diag.Severity == grammar.Error && p.diag.Check == "" {
		e.drop(p.of)
		return
	}
	switch p.diag.Check {
	case "in hand":
		if _, cast := c.mark.Phrase.(*grammar.CastOn); cast && !e.tied(p.of, "added") && !e.tied(p.of, takenUp) {
			e.castInHand(p.of)
			return
		}
		e.takeUp(p)
	case "sum", "until", "evenly", "divide", "below zero", "centre", "panel", "space", "part", "pair":
		if e.otherReading(p, before) {
			return
		}
		if e.followed(p.of) {
			e.accepted[p.key()] = true
			return
		}
		e.takeUp(p)
	case "multiple", "relation":
		e.accepted[p.key()] = true
	case "length":
		e.measureElsewhere(p)
	case "from":
		if !c.has("from") {
			c.ties = append(c.ties, Tie{Text: "from the join", Why: "the work has no cast-on of its own", Guess: true})
			return
		}
		e.takeUp(p)
	case "ending":
		if e.otherReading(p, before) {
			return
		}
		e.withoutEnding(p.of)
	case "held":
		e.forGood(p.of)
	case "rows", "gauge", "sizes", "match", "height":
		e.drop(p.of)
	case "resume":
		if e.nameHeld(p.of) {
			return
		}
		e.takeUp(p)
	case "last rows":
		if !e.rowsRepeated(p.of) {
			e.takeUp(p)
		}
	case "label":
		if e.rowIsNamed(p.of) || e.placeInTwin(p.of) || e.placeNamed(p) {
			return
		}
		e.takeUp(p)
	default:
		if strings.HasPrefix(p.diag.Check, "held") {
			e.forGood(p.of)
			return
		}
		e.takeUp(p)
	}
}

const takenUp = "taken up here"

// tied says whether a candidate has a tie, be it by a doubt.
func (e *engine) tied(i int, tie string) bool {
	for _, t := range e.tiesOf(i) {
		if t.Text == tie {
			return true
		}
	}
	return false
}

func (c *candidate) has(tie string) bool {
	for _, t := range c.ties {
		if t.Text == tie || strings.HasPrefix(t.Text, tie+" ") {
			return true
		}
	}
	return false
}

// takeUp says that what led to an instruction is not followed; where that is said already, the instruction is left unmarked.
func (e *engine) takeUp(p *problem) {
	c := &e.found[p.of]
	if c.has(takenUp) {
		e.drop(p.of)
		return
	}
	if e.sayTold(p.of) {
		return
	}
	c.ties = append(c.ties, Tie{Text: takenUp, Why: "what leads here is not all marked", Guess: true})
}

func (e *engine) drop(i int) {
	e.found[i].off = true
	e.found[i].why = "it does not fit what is marked before it"
}

// castInHand settles whether a cast-on with stitches in hand begins another piece.
func (e *engine) castInHand(i int) {
	c := &e.found[i]
	d := &doubt{of: i, question: "are these stitches added to what is in hand?", ties: [2]string{"added", takenUp},
		means: [2]string{"they are added to the work in hand", "they begin another piece, and how the one before it ends is not marked"}}
	if n, ok := e.settled[c.span().Start]; ok && n >= 0 && n < 2 {
		d.chosen, d.firm, d.why = n, true, "you chose it"
	} else if e.beginsPiece(i) {
		d.chosen = 1
	}
	d.must, c.added = true, d.chosen == 0
	e.doubts = append(e.doubts, d)
}

// addedWords say that stitches are cast on within the work.
var addedWords = set(`extra more additional toward towards neck underarm underarms thumb gap sleeve offset between front other end beginning`)

// beginsPiece weighs whether a cast-on stands at the beginning of a piece: at the beginning of a paragraph or section, or behind a
// lead such as `For the sleeve,`.
func (e *engine) beginsPiece(i int) bool {
	c := &e.found[i]
	prev := -1
	for k := i - 1; k >= 0; k-- {
		if !e.found[k].off {
			prev = k
			break
		}
	}
	if prev >= 0 && e.found[prev].stretch.Under != c.stretch.Under {
		return true
	}
	w := c.stretch.Words
	for k := c.to; k < c.to+5 && k < len(w); k++ {
		if w[k].Key == "." || w[k].Key == ";" {
			break
		}
		if addedWords[w[k].Key] {
			return false
		}
	}
	if prev >= 0 && e.found[prev].stretch == c.stretch {
		// the same paragraph: only behind a lead of its own
		for k := c.from - 1; k > c.from-12 && k > e.found[prev].to; k-- {
			if w[k].Key == "." || w[k].Key == ":" {
				return w[k].Key == ":" || k+1 < len(w) && w[k+1].Key == "for"
			}
		}
		return false
	}
	return c.from < 16
}

// otherReading tries the other readings of the doubts that bear on a problem, the nearest first.
func (e *engine) otherReading(p *problem, before int) bool {
	for k := len(e.doubts) - 1; k >= 0; k-- {
		d := e.doubts[k]
		if d.firm || d.of > p.of || e.found[d.of].off || d.why != "" {
			continue
		}
		if d.of < e.checkpoint(p.of) {
			break
		}
		d.chosen = 1 - d.chosen
		if after := e.problems(); len(after) < before && !holds(after, p) {
			d.why = "only so does " + quoted(e.text(p.of)) + " come out"
			return true
		}
		d.chosen = 1 - d.chosen
	}
	return false
}

func holds(list []problem, p *problem) bool {
	for i := range list {
		if list[i].key() == p.key() {
			return true
		}
	}
	return false
}

func (e *engine) text(i int) string { return oneLine(e.pl.File.Text(e.found[i].span())) }

func quoted(s string) string {
	if r := []rune(s); len(r) > 60 {
		s = string(r[:57]) + "…"
	}
	return "`" + s + "`"
}

// checkpoint is the candidate before i where the count was last known from the text itself.
func (e *engine) checkpoint(i int) int {
	for k := i - 1; k >= 0; k-- {
		c := &e.found[k]
		if !c.off && states(c) {
			return k
		}
	}
	return 0
}

// states says whether an instruction says how many stitches are in hand after it.
func states(c *candidate) bool {
	switch p := c.mark.Phrase.(type) {
	case *grammar.CastOn:
		return !c.added && !p.More && p.Where == nil && !p.EndOfRow
	case *grammar.Statement:
		return p.Value.Unit == grammar.Stitches
	case *grammar.Shape:
		return p.Until != nil
	case *grammar.Repeat:
		return p.Until != nil
	case *grammar.Evenly:
		return p.To != nil
	case *grammar.Layout, *grammar.Divide:
		return true
	}
	return false
}

// changing are words that tell of stitches made, taken away or set aside: where one stands between two instructions and is not
// marked, the count is not followed.
var changing = set(`decrease decreases decreasing decreased dec decs narrow narrowing narrowings intake intakes reduce reduced reducing diminish diminishing
	increase increases increasing increased inc incs widen widening raise m1 m1l m1r m1p make made making yo yon yrn yfwd over kfb k2tog p2tog k3tog p3tog ssk ssp skp
	sk2p s2kp skpo psso tog together cast casting bind binding bo co pick picked picking take taken taking hold holder thread divide divided dividing repeat rep
	repeating chart charts gusset slip place leave leaving drop dropped knitwise continue reverse reversing reversed correspond match same likewise directed before
	dec'd inc'd dart darts turned page short`)

// followed says whether all that changes the count since it was last known is marked.
func (e *engine) followed(i int) bool {
	from := e.checkpoint(i)
	to := &e.found[i]
	if to.reached || from == i || from == 0 && !states(&e.found[0]) {
		return false
	}
	for k := from; k < i; k++ {
		if c := &e.found[k]; c.has(takenUp) && !states(c) {
			return false
		}
	}
	inside := func(s *grammar.Stretch, w int) bool {
		for k := from; k <= i; k++ {
			if c := &e.found[k]; !c.off && c.stretch == s && c.from <= w && w < c.to {
				return true
			}
		}
		return false
	}
	for k := i - 1; k > from; k-- {
		if e.found[k].sums && !e.found[k].off {
			from = k
			break
		}
	}
	begun := false
	for si := range e.pl.Prose {
		s := &e.pl.Prose[si]
		if s == e.found[from].stretch {
			begun = true
		}
		if !begun {
			continue
		}
		a, b := 0, len(s.Words)
		if s == e.found[from].stretch {
			a = e.found[from].to
		}
		if s == to.stretch {
			b = to.from
		}
		for w := a; w < b; w++ {
			if inside(s, w) {
				continue
			}
			if changing[s.Words[w].Key] && !openwork(s.Words, w) || unfollowed(s.Words, w) {
				return false
			}
		}
		if s == to.stretch {
			break
		}
	}
	return true
}

// unfollowed says whether a count stands at word w that nothing here works with: `knit across the 24 sts of the lining`.
func unfollowed(words []grammar.Token, w int) bool {
	if words[w].Kind != grammar.NumberToken || words[w].Ordinal {
		return false
	}
	end := listEnd(words, w)
	perSize := end > w+1
	for end < len(words) && grammar.OfStitches(words[end].Key) {
		end++
	}
	if !perSize && (w == 0 || words[w-1].Key != "the" && words[w-1].Key != "across") || w > 0 && (words[w-1].Key == "last" || words[w-1].Key == "within") {
		return false
	}
	return end < len(words) && grammar.UnitOf(words[end].Key) == grammar.Stitches && !(end+1 < len(words) && (words[end+1].Key == "before" || words[end+1].Key == "between"))
}

// openwork says whether a word belongs to a row of holes, which makes as many stitches as it takes away: `bring the wool forward, knit
// 2 together`, and after it `continue making a stitch, knitting 6 between`.
func openwork(w []grammar.Token, i int) bool {
	switch w[i].Key {
	case "together", "narrow", "k2tog":
		for j := i - 1; j >= 0 && j > i-8; j-- {
			if w[j].Key == "forward" || w[j].Key == "over" || w[j].Key == "yo" {
				return true
			}
		}
	case "continue", "make", "making":
		made := false
		for j := i; j < len(w) && j < i+14; j++ {
			made = made || w[j].Key == "make" || w[j].Key == "making"
			if made && w[j].Key == "between" {
				return true
			}
		}
	}
	return false
}

// measureElsewhere settles a length that is passed already: it is measured from somewhere else.
func (e *engine) measureElsewhere(p *problem) {
	c := &e.found[p.of]
	w, ok := c.mark.Phrase.(*grammar.Work)
	if !ok || w.From != nil || c.has(takenUp) {
		e.drop(p.of)
		return
	}
	was := c.ties
	for _, place := range []string{"from the bind-off", "from the pick-up", "from the divide"} {
		c.ties = append(was[:len(was):len(was)], Tie{Text: place, Why: "it is higher than that from the cast-on already", Guess: true})
		if !e.at(p.of) {
			return
		}
	}
	c.ties = append(was[:len(was):len(was)], Tie{Text: takenUp, Why: "where this is measured from is not said", Guess: true})
}

// at says whether a problem remains at a candidate.
func (e *engine) at(i int) bool {
	for _, p := range e.problems() {
		if p.of == i {
			return true
		}
	}
	return false
}

// withoutEnding leaves `ending with a WS row` outside the brace, or the whole where that cannot be.
func (e *engine) withoutEnding(i int) {
	c := &e.found[i]
	w := c.stretch.Words
	for to := c.to - 1; to > c.from; to-- {
		switch w[to].Key {
		case "ending", "ended", "finishing", "end":
		default:
			continue
		}
		end := to
		for end > c.from && w[end-1].Kind == grammar.SignToken && w[end-1].Key == "," {
			end--
		}
		if m := e.pl.Read(w[c.from:end]); m != nil && m.Ending == grammar.NoSide {
			c.mark, c.to = m, end
			return
		}
	}
	e.drop(i)
}

// forGood says that what is set aside does not come back in what is marked.
func (e *engine) forGood(i int) {
	c := &e.found[i]
	h, ok := c.mark.Phrase.(*grammar.Hold)
	if _, divides := c.mark.Phrase.(*grammar.Divide); divides && !c.has("for good") {
		c.ties = append(c.ties, Tie{Text: "for good", Why: "not all of it is taken up again in what is marked", Guess: true})
		return
	}
	if !ok || c.has("for good") {
		e.accepted[fmt.Sprint(i, " held")] = true
		e.drop(i)
		return
	}
	var ties []Tie
	for _, t := range c.ties {
		if h.Name != nil || !strings.HasPrefix(t.Text, "as ") {
			ties = append(ties, t)
		}
	}
	c.ties = append(ties, Tie{Text: "for good", Why: "nothing that is marked takes it up again", Guess: true})
}

// nameHeld calls what was set aside last by the name under which the text takes it up again.
func (e *engine) nameHeld(i int) bool {
	r, ok := e.found[i].mark.Phrase.(*grammar.Resume)
	if !ok || r.Name.Key == "" {
		return false
	}
	for k := i - 1; k >= 0; k-- {
		c := &e.found[k]
		h, held := c.mark.Phrase.(*grammar.Hold)
		if !held || c.off || h.Name != nil || c.renamed {
			continue
		}
		for t := range c.ties {
			if strings.HasPrefix(c.ties[t].Text, "as held stitches") || c.ties[t].Text == "for good" {
				c.ties[t] = Tie{Text: "as " + r.Name.Key, Why: quoted(e.text(i)) + " takes it up again"}
				c.renamed = true
				e.pl.Name(r.Name.Key)
				return true
			}
		}
	}
	return false
}

// placeNamed gives a name to the place an instruction measures from, where the text shows which one is meant.
func (e *engine) placeNamed(p *problem) bool {
	c := &e.found[p.of]
	w, ok := c.mark.Phrase.(*grammar.Work)
	if !ok || w.From == nil {
		return false
	}
	name := w.From.Key
	for k := p.of - 1; k >= 0; k-- {
		b := &e.found[k]
		if b.off || b.has("as") {
			continue
		}
		bound, binds := b.mark.Phrase.(*grammar.BindOff)
		cast, casts := b.mark.Phrase.(*grammar.CastOn)
		if binds && !bound.All && e.nearWord(b, name) || casts && cast.Where != nil && strings.Contains(grammar.Key(cast.Where.Key), name) {
			b.ties = append(b.ties, Tie{Text: "as " + name, Why: quoted(e.text(p.of)) + " measures from here", Guess: true})
			e.pl.Name(name)
			return true
		}
	}
	return false
}

// nearWord says whether the paragraph or the heading of a candidate speaks of something.
func (e *engine) nearWord(c *candidate, name string) bool {
	for _, f := range strings.Fields(name) {
		f = strings.TrimSuffix(f, "s")
		for i := range c.stretch.Words {
			if strings.TrimSuffix(c.stretch.Words[i].Key, "s") == f {
				return true
			}
		}
		if u := c.stretch.Under; u >= 0 && strings.Contains(strings.ToLower(e.pl.File.Headings[u].Text), f) {
			return true
		}
	}
	return false
}

// confirm asks of each doubt whether the text settles it: the other reading would not come out.
func (e *engine) confirm() {
	if len(e.doubts) == 0 {
		return
	}
	before := e.problems()
	for n, d := range e.doubts {
		if d.why != "" || e.found[d.of].off || n > 60 {
			continue
		}
		d.chosen = 1 - d.chosen
		after := e.problems()
		d.chosen = 1 - d.chosen
		for k := range after {
			if !holds(before, &after[k]) && after[k].of > d.of {
				d.why = "otherwise " + quoted(e.text(after[k].of)) + " does not come out"
				break
			}
		}
	}
}
