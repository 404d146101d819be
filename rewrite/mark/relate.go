package mark

import (
	"slices"
	"strings"

	"gaugewright/grammar"
)

// relate proposes exact relations between counts that were drafted so in every size: a count that comes back to what was cast on
// (`until 64 sts remain`, after a gusset), and a half that is set aside (the instep of a sock).
func (e *engine) relate() {
	w := e.worked()
	if w == nil {
		return
	}
	start := -1    // the cast-on of the piece
	moved := false // the count has been another one since
	var of []int64 // what was cast on
	for i := range e.found {
		c := &e.found[i]
		if c.off {
			continue
		}
		if p, ok := c.mark.Phrase.(*grammar.CastOn); ok && e.countedAt(w, i) != nil && !c.has("added") && !p.More && p.Where == nil {
			start, moved, of = i, false, e.countedAt(w, i)
			continue
		}
		if start < 0 || e.pieceOver(start, i) {
			continue
		}
		n := e.countedAt(w, i)
		if h, ok := c.mark.Phrase.(*grammar.Hold); ok && h.Count != nil && e.half(c) {
			e.relateTo(start, c, wholeSizes(h.Count, e.sizes), of, 2)
		} else if until := untilCount(c); moved && until && slices.Equal(n, of) {
			e.relateTo(start, c, n, of, 1)
		}
		moved = moved || !slices.Equal(w.inHand(i), of)
	}
}

func untilCount(c *candidate) bool {
	switch p := c.mark.Phrase.(type) {
	case *grammar.Shape:
		return p.Until != nil
	case *grammar.Repeat:
		return p.Until != nil
	}
	return false
}

// pieceOver says whether another piece was cast on between two candidates.
func (e *engine) pieceOver(from, to int) bool {
	for k := from + 1; k < to; k++ {
		if b, ok := e.found[k].mark.Phrase.(*grammar.BindOff); ok && !e.found[k].off && b.All {
			return true
		}
	}
	return false
}

// half says whether the sentence of what is set aside speaks of a half, or of the instep.
func (e *engine) half(c *candidate) bool {
	w := c.stretch.Words
	for k := max(0, c.from-24); k < len(w) && k < c.to+8; k++ {
		switch w[k].Key {
		case "instep", "half", "other":
			return true
		}
	}
	return false
}

func wholeSizes(v *grammar.Value, sizes int) []int64 {
	var out []int64
	for _, n := range sizesOf(v, sizes) {
		if n == nil || !n.IsInt() || !n.Num().IsInt64() {
			return nil
		}
		out = append(out, n.Num().Int64())
	}
	return out
}

// relateTo ties a count to the cast-on that it is a share of in every size. It is left alone where it has a tie already.
func (e *engine) relateTo(start int, c *candidate, n, of []int64, share int64) {
	if len(n) != len(of) || len(n) == 0 {
		return
	}
	for s := range n {
		if n[s]*share != of[s] {
			return
		}
	}
	b := &e.found[start]
	name := e.label(b)
	if name == "" {
		var heading string
		if u := b.stretch.Under; u >= 0 && e.level(b.stretch) > 1 {
			heading = strings.TrimRight(e.pl.File.Headings[u].Text, ".: ")
		}
		if strings.ContainsAny(heading, "(){},|+-*/0123456789&") || len(strings.Fields(heading)) > 3 {
			heading = ""
		}
		if heading != "" {
			heading += " sts"
		}
		if name = e.freeName(heading, "cast-on sts", "all sts"); name == "" {
			return
		}
		b.ties = append(b.ties, Tie{Text: "as " + name, Why: "other counts were drafted as large, or half as large"})
		e.pl.Name(name)
	}
	text, why := name, "it was drafted as large as this"
	if share == 2 {
		text, why = name+" / 2", "it was drafted half as large"
	}
	c.ties = append([]Tie{{Text: text, Why: why, Guess: true}}, c.ties...)
}

// relateSecond ties stitches cast on within the work to those cast on before them in the same paragraph, at the other side, where they
// were drafted alike in every size.
func (e *engine) relateSecond() {
	for i := range e.found {
		c := &e.found[i]
		p, ok := c.mark.Phrase.(*grammar.CastOn)
		if !ok || c.off || p.Where == nil || !strings.Contains(p.Where.Key, "underarm") {
			continue
		}
		for k := range i {
			b := &e.found[k]
			first, ok := b.mark.Phrase.(*grammar.CastOn)
			if !ok || b.off || b.stretch != c.stretch || first.Where == nil || !strings.Contains(first.Where.Key, "underarm") {
				continue
			}
			e.relateTo(k, c, wholeSizes(p.Count, e.sizes), wholeSizes(first.Count, e.sizes), 1)
			break
		}
	}
}
