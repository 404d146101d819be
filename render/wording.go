package render

import (
	"math/big"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// stretch is a piece of an instruction as the reader sees it. was is what the draft said there, where it changed.
type stretch struct {
	text, was string
	at        grammar.Span // what of the draft it stands for
	changed   bool
}

// wording is a marked instruction without braces and ties, in the spelling of the source (escapes kept).
type wording struct {
	stretches []stretch
	spelled   []string // the spread written out, one a size
	ends      bool     // it ends a sentence
	changed   bool
	rewritten bool
}

func (w *wording) text() string {
	if len(w.stretches) == 1 {
		return w.stretches[0].text
	}
	n := 0
	for i := range w.stretches {
		n += len(w.stretches[i].text)
	}
	var b strings.Builder
	b.Grow(n)
	for i := range w.stretches {
		b.WriteString(w.stretches[i].text)
	}
	return b.String()
}

// wordings are the instructions of a conversion, one a mark, with lengths in the units asked for.
func wordings(c *rewrite.Conversion, o Options) []wording {
	f := c.Draft.File
	out := make([]wording, len(f.Marks))
	told := make([]bool, len(f.Marks))
	next := 0 // in c.Numbers, which are in the order of the marks
	all := 0
	for i := range c.Marks {
		all += len(c.Marks[i].Pieces) + spare
	}
	room := make([]stretch, all)
	for i := range c.Marks {
		t := &c.Marks[i]
		if t.Mark < 0 || t.Mark >= len(out) {
			continue
		}
		w, m := &out[t.Mark], f.Marks[t.Mark]
		told[t.Mark] = true
		w.rewritten = t.Rewritten
		if len(t.Pieces) == 0 {
			continue // an instruction for sizes that are not in this copy
		}
		at := m.PhraseSpan.Start
		w.stretches, room = room[:0:len(t.Pieces)+spare], room[len(t.Pieces)+spare:]
		for j := range t.Pieces {
			p := &t.Pieces[j]
			s := stretch{text: p.Text, at: grammar.Span{Start: at, End: at + len(p.Text)}}
			if p.Changed {
				s.at.End = at + len(p.Was)
				// A list cut down to the sizes of this copy is no change of a number.
				if s.changed = p.Number < 0 || p.Number >= len(c.Numbers) || c.Numbers[p.Number].Changed; s.changed {
					s.was, w.changed = p.Was, true
				}
			}
			at = s.at.End
			w.stretches = append(w.stretches, s)
		}
		for next < len(c.Numbers) && c.Numbers[next].Mark < t.Mark {
			next++
		}
		end := next
		for end < len(c.Numbers) && c.Numbers[end].Mark == t.Mark {
			end++
		}
		// From the last number to the first: what is put in does not move the places before it.
		for i := end - 1; i >= next; i-- {
			w.number(c, &c.Numbers[i], o)
		}
		w.finished(c.Numbers[next:end], c, o)
		next = end
		w.spelled = t.Spelled
		if lead := strings.TrimLeft(f.Text(grammar.Span{Start: m.Span.Start + 1, End: m.PhraseSpan.Start}), blanks); lead != "" {
			w.stretches = slices.Insert(w.stretches, 0, stretch{text: lead})
		}
		if t := tail(f, m); t != "" {
			w.stretches = append(w.stretches, stretch{text: t})
		}
		w.trim()
		w.ends = endsSentence(f.Src[m.Span.End:])
	}
	for i, m := range f.Marks {
		if !told[i] {
			out[i].stretches = []stretch{{text: f.Text(m.PhraseSpan)}}
		}
	}
	return out
}

// spare is the room that an instruction has for stretches beyond its pieces: nearly always for its full stop alone. Where
// that is not enough, more is made.
const spare = 1

const blanks = " \t\r\n"

func endsSentence(rest []byte) bool {
	return len(rest) == 0 || rest[0] == '.' || rest[0] == '\n' || rest[0] == '\r'
}

// tail is what stands between the phrase and the bar or the closing brace: a full stop, as a rule.
func tail(f *grammar.File, m *grammar.Mark) string {
	end := m.Span.End - 1
	if m.BarSpan.End > m.BarSpan.Start {
		end = m.BarSpan.Start
	}
	// A bar in a table is escaped, and one on a line of its own may stand after the sign of a quotation.
	return strings.TrimRight(f.Text(grammar.Span{Start: m.PhraseSpan.End, End: end}), blanks+`\>`)
}

// trim takes the words `spelled out` away where the spread itself follows.
func (w *wording) trim() {
	spread := false
	for _, s := range w.spelled {
		spread = spread || s != ""
	}
	if !spread {
		w.spelled = nil
		return
	}
	for i := range w.stretches {
		s := &w.stretches[i]
		at := strings.Index(strings.ToLower(s.text), spelledOut)
		if at < 0 || at+len(spelledOut) > len(s.text) {
			continue
		}
		s.text = strings.TrimRight(s.text[:at], ","+blanks) + s.text[at+len(spelledOut):]
	}
}

const spelledOut = "spelled out"

// number puts a length into the units asked for: instead of the draft's own, or after it in brackets.
func (w *wording) number(c *rewrite.Conversion, n *rewrite.Number, o Options) {
	if n.Quantity < 0 || n.Quantity >= len(c.Draft.Quantities) {
		return
	}
	v := c.Draft.Quantities[n.Quantity].Value
	if v == nil || v.Scattered {
		return
	}
	if n.Unit.IsLength() && v.Second == nil {
		end := max(v.NumSpan.End, v.UnitSpan.End)
		first, second := o.shown(n.Unit)
		switch {
		case second != grammar.NoUnit:
			add := " [" + tapeList(n.To, n.Unit, second, v.Style) + " " + unitName(second) + "]"
			w.splice(grammar.Span{Start: end, End: end}, stretch{text: add})
		case first != n.Unit:
			s := stretch{text: tapeList(n.To, n.Unit, first, v.Style) + " " + unitName(first), changed: n.Changed}
			if s.changed {
				s.was = tapeList(n.From, n.Unit, first, v.Style) + " " + unitName(first)
			}
			w.splice(grammar.Span{Start: v.NumSpan.Start, End: end}, s)
		}
	}
}

// finished adds to an instruction that is worked to a length how long that is on the needles: `(38 cm when finished: 95 rows,
// 40.5 cm on the needles)`.
func (w *wording) finished(numbers []rewrite.Number, c *rewrite.Conversion, o Options) {
	for i := range numbers {
		n := &numbers[i]
		if len(n.OnNeedles)+len(n.Flat) == 0 || n.Quantity < 0 || n.Quantity >= len(c.Draft.Quantities) {
			continue
		}
		style := c.Draft.Quantities[n.Quantity].Value.Style
		first, second := o.shown(n.Unit)
		also := func(x []*big.Rat, where string) string {
			if len(x) == 0 {
				return ""
			}
			text := ", " + tapeList(x, grammar.Centimetres, first, style) + " " + unitName(first)
			if second != grammar.NoUnit {
				text += " [" + tapeList(x, grammar.Centimetres, second, style) + " " + unitName(second) + "]"
			}
			return text + where
		}
		when := " when finished: "
		if len(n.Flat) > 0 {
			when = " when it hangs: "
		}
		var rows sizeValues
		for _, x := range n.Rows {
			if x != nil {
				rows.text = appendDecimals(rows.text, x, 0)
			}
			rows.end()
		}
		word := "rows"
		if n.Rounds {
			word = "rounds"
		}
		w.stretches = append(w.stretches, stretch{text: " (" + tapeList(n.To, n.Unit, first, style) + " " + unitName(first) + when +
			string(rows.appendList(nil, style)) + " " + word + also(n.Flat, " lying flat") + also(n.OnNeedles, " on the needles") + ")"})
	}
}

// splice puts s in the place of what the draft has at a span. A stretch that changed is not cut: where that would be
// needed (a sentence written anew), nothing is done.
func (w *wording) splice(at grammar.Span, s stretch) {
	out := make([]stretch, 0, len(w.stretches)+2)
	done := false
	put := func() {
		if !done {
			s.at = at
			out = append(out, s)
			done = true
		}
	}
	for _, x := range w.stretches {
		switch {
		case x.at.End <= at.Start:
			out = append(out, x)
		case x.at.Start >= at.End:
			put()
			out = append(out, x)
		case x.at.End-x.at.Start != len(x.text) || x.changed:
			if x.at.Start < at.Start || x.at.End > at.End {
				return
			}
			put()
		default:
			before, after := cutAt(x, at.Start)
			if before.text != "" {
				out = append(out, before)
			}
			put()
			if _, after = cutAt(after, at.End); after.text != "" {
				out = append(out, after)
			}
		}
	}
	put()
	w.stretches = out
}

// cutAt cuts an unchanged stretch at an offset of the draft.
func cutAt(s stretch, off int) (before, after stretch) {
	n := min(max(off-s.at.Start, 0), len(s.text))
	before, after = s, s
	before.text, before.at.End = s.text[:n], s.at.Start+n
	after.text, after.at.Start = s.text[n:], s.at.Start+n
	return before, after
}

// tapeList writes lengths drafted in one unit in another, as a tape is read.
func tapeList(x []*big.Rat, from, to grammar.Unit, s grammar.ListStyle) string {
	var l sizeValues
	for _, v := range x {
		if v != nil {
			l.text = appendTape(l.text, v, from, to)
		}
		l.end()
	}
	return string(l.appendList(nil, s))
}

// plain is text of the source as it is read: line ends and the signs of a quotation folded into one blank, escapes
// undone.
func plain(s string) string {
	if !strings.ContainsAny(s, "\\\r\n") {
		return s
	}
	var b strings.Builder
	b.Grow(len(s))
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case c == '\\' && i+1 < len(s) && s[i+1] < utf8.RuneSelf && unicode.In(rune(s[i+1]), unicode.P, unicode.S):
			i++
			b.WriteByte(s[i])
		case c == '\n' || c == '\r':
			for i+1 < len(s) && strings.IndexByte("\r\n \t>", s[i+1]) >= 0 {
				i++
			}
			b.WriteByte(' ')
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}

// aside is a spread that is the same in every size, as it follows the instruction.
func (w *wording) aside(spread string) string {
	if w.ends {
		return ": " + spread
	}
	return " (" + spread + ")"
}

// spreadLine is the spread of one size of the result, by its index; of all of them where size is empty.
type spreadLine struct {
	size, text string
	of         int
}

// spread is the spread of a spelled-out instruction as one line: `k4, (k2tog, k8) 9 times`, or one a size.
func spread(w *wording, sizes []string) []spreadLine {
	if len(w.spelled) == 0 {
		return nil
	}
	same := true
	for _, s := range w.spelled[1:] {
		same = same && s == w.spelled[0]
	}
	if same {
		if w.spelled[0] == "" {
			return nil
		}
		return []spreadLine{{text: w.spelled[0]}}
	}
	var out []spreadLine
	for i, s := range w.spelled {
		if i < len(sizes) && s != "" {
			out = append(out, spreadLine{size: sizes[i], text: s, of: i})
		}
	}
	return out
}
