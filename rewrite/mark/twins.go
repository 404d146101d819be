package mark

import (
	"strings"

	"gaugewright/grammar"
)

// workedUntil settles `work as back until armhole measures 12 cm`: the other piece is followed to where it goes straight on for longer
// than that, and what stands behind `until` is worked then. Where no such place is marked, the words are left unmarked.
func (e *engine) workedUntil(i int) {
	c := &e.found[i]
	p, ok := c.mark.Phrase.(*grammar.Twin)
	if !ok || p.To != nil || !c.until {
		return
	}
	c.off, c.why = true, "how far it is worked is not marked"
	if i+1 >= len(e.found) || e.found[i+1].stretch != c.stretch || e.found[i+1].from != c.to {
		return
	}
	next := &e.found[i+1]
	goal, ok := next.mark.Phrase.(*grammar.Work)
	if !ok || !goal.To || goal.Length == nil {
		return
	}
	for k := range i {
		b := &e.found[k]
		w, ok := b.mark.Phrase.(*grammar.Work)
		if !ok || b.off || !w.To || w.Length == nil || !e.inPiece(b, p.As.Key) || e.says(b, "armhole") != e.says(next, "armhole") || !atLeast(w.Length, goal.Length, e.sizes) {
			continue
		}
		name := e.label(b)
		if name == "" {
			base := p.As.Key
			if e.says(b, "armhole") {
				base = "armhole"
			}
			if name = e.freeName(base, p.As.Key+" "+base, "straight "+p.As.Key); name == "" {
				return
			}
			b.ties = append(b.ties, Tie{Text: "as " + name, Why: quoted(e.text(i)) + " goes as far as this"})
			e.pl.Name(name)
		}
		c.off = false
		c.ties = append(c.ties, Tie{Text: "to " + name, Why: "there the other piece goes on for longer than " + quoted(e.text(i+1))})
		return
	}
}

// atLeast says whether a length is no shorter than another in any size.
func atLeast(a, b *grammar.Value, sizes int) bool {
	x, y := sizesOf(a, sizes), sizesOf(b, sizes)
	for s := range sizes {
		if x[s] == nil || y[s] == nil || inCm(x[s], a.Unit).Cmp(inCm(y[s], b.Unit)) < 0 {
			return false
		}
	}
	return true
}

// says says whether a word is among those of a candidate.
func (e *engine) says(c *candidate, word string) bool {
	f := &finder{pl: e.pl, s: c.stretch, w: c.stretch.Words}
	return f.says(c, word, word+"s")
}

// label is the name that a candidate has got.
func (e *engine) label(c *candidate) string {
	for _, t := range c.ties {
		if name, ok := strings.CutPrefix(t.Text, "as "); ok {
			return name
		}
	}
	return ""
}

// inPiece says whether a candidate stands under the heading of a piece, or under one below that.
func (e *engine) inPiece(c *candidate, piece string) bool {
	h := e.pl.File.Headings
	for u, level := c.stretch.Under, 100; u >= 0; u-- {
		if h[u].Level >= level {
			continue
		}
		level = h[u].Level
		if grammar.Key(strings.TrimRight(h[u].Text, ".: ")) == piece {
			return true
		}
	}
	return false
}

// freeName is the first of some names that nothing has yet, "" where all are taken.
func (e *engine) freeName(names ...string) string {
	taken := map[string]bool{}
	if e.proposal != nil {
		for _, m := range e.proposal.measures {
			taken[grammar.Key(m.name)] = true
		}
		for _, g := range e.proposal.gauges {
			taken[grammar.Key(g.fabric)] = true
		}
	}
	for _, b := range e.pl.File.Blocks {
		for _, m := range b.Measures {
			taken[m.Name.Key] = true
		}
		for _, f := range b.Fabrics {
			taken[f.Name.Key] = true
		}
	}
	marks := make([]*grammar.Mark, 0, len(e.pl.File.Marks)+len(e.found))
	marks = append(marks, e.pl.File.Marks...)
	for i := range e.found {
		marks = append(marks, e.found[i].mark)
		if name := e.label(&e.found[i]); name != "" {
			taken[grammar.Key(name)] = true
		}
	}
	word := func(w *grammar.Word) {
		if w != nil {
			taken[w.Key] = true
		}
	}
	for _, m := range marks {
		for _, name := range m.Labels() {
			taken[name.Key] = true
		}
		switch p := m.Phrase.(type) {
		case *grammar.Hold:
			word(p.Name)
		case *grammar.Resume:
			word(&p.Name)
		case *grammar.Divide:
			for j := range p.Parts {
				word(p.Parts[j].Name)
			}
		case *grammar.Layout:
			for j := range p.Parts {
				word(p.Parts[j].Name)
			}
		case *grammar.Join:
			for j := range p.Names {
				word(&p.Names[j])
			}
		}
	}
	for _, n := range names {
		if n = grammar.Key(n); n != "" && !taken[n] && grammar.UnitOf(n) == grammar.NoUnit {
			return n
		}
	}
	return ""
}

// placeInTwin names the place to which a piece is worked as another: `work as back to armholes`.
func (e *engine) placeInTwin(i int) bool {
	p, ok := e.found[i].mark.Phrase.(*grammar.Twin)
	if !ok || p.To == nil || e.found[i].until {
		return false
	}
	for k := range i {
		b := &e.found[k]
		bound, ok := b.mark.Phrase.(*grammar.BindOff)
		if !ok || b.off || bound.All || !e.inPiece(b, p.As.Key) || !e.nearWord(b, strings.Fields(p.To.Key)[0]) || e.label(b) != "" {
			continue
		}
		return e.callFor(i, b, p.To.Key, "goes as far as this")
	}
	return false
}

// callFor gives a candidate the name that the one at i speaks of, if that comes out then; why is what that one does with it.
func (e *engine) callFor(i int, c *candidate, name, why string) bool {
	was := c.ties
	c.ties = append(was[:len(was):len(was)], Tie{Text: "as " + name, Why: quoted(e.text(i)) + " " + why})
	if e.at(i) {
		c.ties = was
		return false
	}
	e.pl.Name(name)
	return true
}

// namePlaces gives the armholes of a piece the name by which half-finished work can be told: `as underarm`, `as front underarm`.
func (e *engine) namePlaces() {
	heading := -2
	for i := range e.found {
		c := &e.found[i]
		p, ok := c.mark.Phrase.(*grammar.BindOff)
		if !ok || c.off || p.All || len(p.Steps) == 0 || c.stretch.Under == heading || e.label(c) != "" || !e.armholes(c) {
			continue
		}
		heading = c.stretch.Under
		if name := e.freeName("underarm", e.piece(c)+" underarm"); name != "" {
			c.ties = append(c.ties, Tie{Text: "as " + name, Why: "so that work on the needles can be told by it"})
			e.pl.Name(name)
		}
	}
}

// armholes says whether a heading or the first words of a paragraph before a candidate are `Armholes` or `Shape armholes`.
func (e *engine) armholes(c *candidate) bool {
	if u := c.stretch.Under; u >= 0 && strings.Contains(strings.ToLower(e.pl.File.Headings[u].Text), "armhole") {
		return true
	}
	for k := 0; k < 4 && k < c.from; k++ {
		if key := c.stretch.Words[k].Key; key == "armhole" || key == "armholes" {
			return true
		}
	}
	return false
}

// piece is the first word of the heading of the piece that a candidate belongs to, where that is a plain word.
func (e *engine) piece(c *candidate) string {
	h := e.pl.File.Headings
	for u, level := c.stretch.Under, 100; u >= 0; u-- {
		if h[u].Level >= level {
			continue
		}
		level = h[u].Level
		words := strings.Fields(grammar.Key(h[u].Text))
		if len(words) > 0 && len(words) < 3 && !strings.Contains(words[0], "armhole") && words[0] != "shape" && !strings.ContainsAny(words[0], "(){},|+-*/0123456789&:.") {
			return words[0]
		}
	}
	return "other"
}
