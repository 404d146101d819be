package render

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// Beside each paragraph a page has its steps to tick off: what is done, the rows it takes and what is on the needles
// after it.

// tallier writes steps.
type tallier struct {
	c      *rewrite.Conversion
	values sizeValues
	sized  bySize
	line   []byte
	again  bool // a piece is worked a second time, left and right exchanged
}

// steps are the steps of the marks as list items of HTML, nil for a mark that is none.
func steps(c *rewrite.Conversion, texts []wording) [][]byte {
	out := make([][]byte, len(texts))
	t := &tallier{c: c}
	var m markup
	m.Grow(160 * len(texts))
	ends := make([]int, len(texts))
	there := func(k int) bool { return k >= 0 && k < len(texts) && len(texts[k].stretches) > 0 }
	for i := range c.Marks {
		if k := c.Marks[i].Mark; there(k) {
			t.step(&m, &c.Marks[i], &texts[k])
			if a := againOf(c.Draft, k); a.To > 0 {
				t.again = true
				for j := range c.Marks {
					if n := c.Marks[j].Mark; a.From <= n && n < a.To && there(n) {
						t.step(&m, &c.Marks[j], &texts[n])
					}
				}
				t.again = false
			}
			ends[k] = m.Len()
		}
	}
	all, at := m.Bytes(), 0
	for i, end := range ends {
		if end > at {
			out[i], at = all[at:end:end], end
		}
	}
	return out
}

// againOf is what a mark has worked a second time; its To is 0 where it is no twin.
func againOf(d *dsl.Draft, mark int) dsl.Again {
	if len(d.Runs) > 0 {
		for _, a := range d.Runs[0].Again {
			if a.Twin == mark {
				return a
			}
		}
	}
	return dsl.Again{}
}

// step writes one step, or nothing where a mark says something and nothing is done.
func (t *tallier) step(m *markup, x *rewrite.MarkText, w *wording) {
	mark := t.c.Draft.File.Marks[x.Mark]
	word, whole := stepWord(mark.Phrase)
	if word == "" {
		return
	}
	label := stepLabel(plain(w.text()), word, whole, len(mark.Only) > 0)
	if t.again {
		label = dsl.OtherSide(label)
	} else if againOf(t.c.Draft, x.Mark).To > 0 {
		m.raw(`<li class="head">`)
		m.text(label)
		m.raw("</li>\n")
		return
	}
	only := onlySizes(t.c, x.Mark)
	m.raw("<li")
	classOnly(m, only)
	m.raw(`><label><input type="checkbox"> <span>`)
	m.text(label)
	for i, k := range only {
		if i == 0 {
			m.raw(" (")
		} else {
			m.raw(", ")
		}
		m.text(t.c.Targets[k-1].Name)
	}
	if only != nil {
		m.raw(" only)")
	}
	m.raw("</span>")
	if anyOf(x.Rows) {
		unit := " rows"
		if x.Rounds {
			unit = " rounds"
		}
		if allOne(x.Rows, only) {
			unit = strings.TrimSuffix(unit, "s")
		}
		t.figure(m, "", x.Rows, unit, only)
	}
	off, ok := mark.Phrase.(*grammar.BindOff)
	switch {
	case t.shapedBeside(x.Mark):
		// What is in hand after these rows, the next step tells.
	case anyOf(x.After):
		unit := " sts"
		if allOne(x.After, only) {
			unit = " st"
		}
		if x.Each {
			unit += " each side"
		}
		t.figure(m, "then ", x.After, unit, only)
	case ok && off.With == nil && len(x.After) > 0:
		m.raw(` <span class="f">none left</span>`)
	}
	m.raw("</label></li>\n")
}

// shapedBeside says whether the next instruction is shaping over the rows of this one.
func (t *tallier) shapedBeside(mark int) bool {
	if marks := t.c.Draft.File.Marks; mark+1 < len(marks) {
		switch p := marks[mark+1].Phrase.(type) {
		case *grammar.Shape:
			return p.Meanwhile && p.After == nil
		case *grammar.Repeat:
			return p.Meanwhile
		}
	}
	return false
}

// figure writes a number for each size.
func (t *tallier) figure(m *markup, before string, x []int64, after string, only []int) {
	t.values.clear()
	of := make([]int, 0, len(x))
	put := func(k int) {
		t.values.text = strconv.AppendInt(t.values.text, x[k], 10)
		t.values.end()
		of = append(of, k+1)
	}
	if only == nil {
		for k := range x {
			put(k)
		}
	} else {
		for _, k := range only {
			put(k - 1)
		}
	}
	t.line = t.values.appendList(append(t.line[:0], before...), sizesStyle(t.c))
	if len(x) > 1 {
		t.sized.of = [][]int{of}
	}
	t.sized.parts = append(t.sized.parts, part{text: string(t.line) + after})
	m.raw(` <span class="f">`)
	t.sized.write(m)
	m.raw("</span>")
}

func anyOf(x []int64) bool {
	for _, v := range x {
		if v != 0 {
			return true
		}
	}
	return false
}

// allOne says whether a number is 1 in every size that it is for.
func allOne(x []int64, only []int) bool {
	for k, v := range x {
		if v != 1 && (only == nil || slices.Contains(only, k+1)) {
			return false
		}
	}
	return true
}

// stepWord is what is done, in the trade's word, for a phrase that does something; whole says that its own words are short
// enough to stand as they are. It is empty for one that only says something.
func stepWord(p grammar.Phrase) (word string, whole bool) {
	switch p := p.(type) {
	case *grammar.CastOn:
		return "Cast on", false
	case *grammar.PickUp:
		return "Pick up", false
	case *grammar.Work:
		return "Work", false
	case *grammar.Shape:
		if p.Increase {
			return "Increase", false
		}
		return "Decrease", false
	case *grammar.Repeat:
		return "Repeat", false
	case *grammar.Evenly:
		if p.Increase {
			return "Increase", false
		}
		return "Decrease", false
	case *grammar.BindOff:
		return "Bind off", p.With != nil
	case *grammar.Turn:
		return "Turn", false
	case *grammar.Hold:
		return "Hold", false
	case *grammar.Resume:
		return "Resume", true
	case *grammar.Divide:
		return "Divide", false
	case *grammar.Join:
		return "Join", true
	case *grammar.Space:
		return "Space", false
	case *grammar.Spelled:
		return "Work the repeat", false
	case *grammar.Twin:
		return "Work", true
	case *grammar.Close:
		return "Close", true
	}
	return "", false
}

// few is the number of words that a step's label has at most, where the instruction goes on.
const few = 5

// stepLabel is what a step is called: the first words of the instruction, up to its first number, in the author's own
// spelling, with what is counted where they wait for it (`cast off the remaining sts`); or the trade's word where it has none.
func stepLabel(text, word string, whole, some bool) string {
	if some {
		if i := strings.Index(strings.ToLower(text), "only"); i >= 0 {
			text = strings.TrimLeft(text[i+len("only"):], ":, ")
		}
	}
	counted := ""
	if i := strings.IndexAny(text, digits+"("); i >= 0 {
		counted, text = firstWord(text[i:]), text[:i]
	}
	words := strings.Fields(text)
	if !whole && len(words) > few {
		words = words[:few]
	}
	for len(words) > 0 && trailing[strings.ToLower(strings.Trim(words[len(words)-1], ".,:;—–-"))] {
		words = words[:len(words)-1]
	}
	if n := len(words); n > 0 && waiting[strings.ToLower(words[n-1])] && counted != "" {
		words = append(words, counted)
	}
	label := strings.Trim(strings.Join(words, " "), ".,:;—– ")
	if !strings.ContainsFunc(label, unicode.IsLetter) {
		return word
	}
	r := []rune(label)
	r[0] = unicode.ToUpper(r[0])
	return string(r)
}

// firstWord is the first word with nothing but letters in it.
func firstWord(text string) string {
	for _, w := range strings.Fields(text) {
		if w = strings.Trim(w, ".,:;()[]"); w != "" && !strings.ContainsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) }) {
			return w
		}
	}
	return ""
}

// waiting are words that say of what is counted which it is.
var waiting = map[string]bool{"remaining": true, "rem": true, "centre": true, "center": true, "all": true, "space": true}

// trailing are words that wait for a number.
var trailing = map[string]bool{"": true, "to": true, "the": true, "next": true, "in": true, "for": true, "until": true, "at": true,
	"a": true, "an": true, "of": true, "by": true, "every": true, "and": true, "or": true, "from": true, "there": true,
	"are": true, "is": true, "further": true, "following": true, "foll": true, "with": true, "as": true, "measures": true, "piece": true, "into": true, "last": true, "these": true, "those": true, "this": true, "over": true, "after": true,
	"then": true, "leaving": true, "more": true}

// stepList puts steps into the list that stands beside or below what they are taken from.
func stepList(m *markup, steps [][]byte) {
	m.raw("<ol class=\"tally\">\n")
	for _, s := range steps {
		_, _ = m.Write(s)
	}
	m.raw("</ol>\n")
}

// classOnly writes the class of something that is for some sizes alone.
func classOnly(m *markup, only []int) {
	if only == nil {
		return
	}
	m.raw(` class="o`)
	for _, k := range only {
		m.raw(" o")
		m.whole(k)
	}
	m.raw(`"`)
}
