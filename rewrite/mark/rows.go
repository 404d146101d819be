package mark

import (
	"strings"

	"gaugewright/grammar"
)

// rowsRepeated settles `repeat these 2 rows` behind the text of those rows, of which only what the shaped one did is marked: the
// others are plain, so they are told with it.
func (e *engine) rowsRepeated(i int) bool {
	p, ok := e.found[i].mark.Phrase.(*grammar.Repeat)
	if !ok || p.LastRows == nil || e.found[i].has(takenUp) {
		return false
	}
	rows := p.LastRows.Nums[0].Val
	if len(p.Labels) > 0 {
		rows = bigInt(len(p.Labels))
	}
	for k := i - 1; k >= 0; k-- {
		c := &e.found[k]
		if c.off {
			continue
		}
		shape, ok := c.mark.Phrase.(*grammar.Shape)
		if !ok || !oneRow(shape) || c.has("in") || !rows.IsInt() || rows.Cmp(one) <= 0 {
			return false
		}
		was := c.ties
		c.ties = append(was[:len(was):len(was)], Tie{Text: "in " + plainNumber(rows) + " rows", Why: quoted(e.text(i)) + " repeats it with the plain rows after it"})
		if e.at(i) {
			c.ties = was
			return false
		}
		return true
	}
	return false
}

// oneRow says whether shaping is that of a single row.
func oneRow(p *grammar.Shape) bool {
	return len(p.Clauses) == 1 && p.Clauses[0].Kind == grammar.OneRow && p.Until == nil && !p.Meanwhile
}

// rowIsNamed gives the row that is repeated by its name (`repeat the inc round`) to the shaping that stands behind that name.
func (e *engine) rowIsNamed(i int) bool {
	p, ok := e.found[i].mark.Phrase.(*grammar.Repeat)
	if !ok || p.Row == nil {
		return false
	}
	name := strings.Fields(p.Row.Key)
	for k := i - 1; k >= 0; k-- {
		c := &e.found[k]
		shape, ok := c.mark.Phrase.(*grammar.Shape)
		if !ok || c.off || c.has("as") || !oneRow(shape) || !e.saidBefore(c, name) {
			continue
		}
		return e.callFor(i, c, p.Row.Key, "repeats this row")
	}
	return false
}

// saidBefore says whether words stand one behind the other before a candidate in its paragraph.
func (e *engine) saidBefore(c *candidate, words []string) bool {
next:
	for i := c.from - len(words); i >= 0; i-- {
		for j, w := range words {
			if c.stretch.Words[i+j].Key != w {
				continue next
			}
		}
		return true
	}
	return false
}
