package render

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/grammar"
)

// paint is the colours of a terminal; all empty without colour.
type paint struct {
	severity         [4]string
	place, mark, off string
}

var coloured = paint{severity: [4]string{"\x1b[1;36m", "\x1b[1;33m", "\x1b[1;31m", "\x1b[1;31m"}, place: "\x1b[1m", mark: "\x1b[1;32m", off: "\x1b[0m"}

// Diagnostics is what a person reads of them: `file:line:column: severity: summary`, the line of the source with a mark
// under the place, what helps to understand it, the other half of a contradiction with its place, and a way out. Lines
// and columns count from 1, columns in characters (Unicode code points, a tab as one). Control characters of the source
// are shown as �.
func Diagnostics(f *grammar.File, d grammar.Diagnostics, colour bool) []byte {
	if f == nil {
		f = &grammar.File{}
	}
	var p paint
	if colour {
		p = coloured
	}
	var b bytes.Buffer
	for _, x := range d {
		line, column := f.Position(x.Span.Start)
		sev := min(max(int(x.Severity), 0), len(p.severity)-1)
		fmt.Fprintf(&b, "%s%s:%d:%d:%s %s%s:%s %s\n", p.place, printable(f.Name), line, column, p.off,
			p.severity[sev], grammar.Severity(sev), p.off, printable(x.Summary))
		excerpt(&b, f, x.Span, '^', "  ", p)
		paragraph(&b, "  ", x.Detail)
		for _, r := range x.Related {
			rl, rc := f.Position(r.Span.Start)
			fmt.Fprintf(&b, "  %s%s:%d:%d:%s %s\n", p.place, printable(f.Name), rl, rc, p.off, printable(r.Text))
			excerpt(&b, f, r.Span, '-', "    ", p)
		}
		if x.WayOut != "" {
			paragraph(&b, "  ", "Try: "+x.WayOut)
		}
	}
	return b.Bytes()
}

func paragraph(b *bytes.Buffer, indent, text string) {
	if text == "" {
		return
	}
	for _, l := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		b.WriteString(indent + printable(l) + "\n")
	}
}

// The most columns of a source line that are shown, and how many of them stand before the place.
const (
	shownColumns = 120
	shownBefore  = 60
)

// excerpt writes the line of the source that a span begins in, with a mark under the part of it that the span covers.
// Tabs are repeated under tabs, wide characters get two signs and combining ones none, so that the mark stands right in
// a terminal. A long line is cut to the neighbourhood of the place.
func excerpt(b *bytes.Buffer, f *grammar.File, s grammar.Span, sign byte, indent string, p paint) {
	if len(f.Src) == 0 || s == (grammar.Span{}) && len(f.Src) > 0 && f.Src[0] == '\n' {
		return
	}
	line, column := f.Position(s.Start)
	text := f.Line(line)
	if strings.TrimSpace(text) == "" {
		return
	}
	// The span's part of the line, in bytes of text.
	from := 0
	for i := 1; i < column && from < len(text); i++ {
		_, w := utf8.DecodeRuneInString(text[from:])
		from += w
	}
	to := min(len(text), from+max(0, s.End-s.Start))
	head, tail := 0, len(text)
	if width(text) > shownColumns {
		head, tail = window(text, from, to)
		to = min(to, tail)
	}
	b.WriteString(indent)
	if head > 0 {
		b.WriteString("…")
	}
	b.WriteString(printable(text[head:tail]))
	if tail < len(text) {
		b.WriteString("…")
	}
	b.WriteString("\n" + indent)
	if head > 0 {
		b.WriteByte(' ')
	}
	for _, r := range text[head:from] {
		if r == '\t' {
			b.WriteByte('\t')
			continue
		}
		for range runeWidth(r) {
			b.WriteByte(' ')
		}
	}
	b.WriteString(p.mark)
	n := 0
	for _, r := range text[from:to] {
		if r == '\t' && to-from > 1 {
			b.WriteByte('\t')
			continue
		}
		for range runeWidth(r) {
			b.WriteByte(sign)
			n++
		}
	}
	if n == 0 {
		b.WriteByte(sign)
	}
	b.WriteString(p.off + "\n")
}

// window is the part of a long line that is shown.
func window(text string, from, to int) (head, tail int) {
	head = from
	for n := 0; head > 0 && n < shownBefore; {
		r, w := utf8.DecodeLastRuneInString(text[:head])
		head -= w
		n += runeWidth(r)
	}
	tail = head
	for n := 0; tail < len(text) && n < shownColumns; {
		r, w := utf8.DecodeRuneInString(text[tail:])
		tail += w
		n += runeWidth(r)
	}
	return head, tail
}

func width(s string) int {
	n := 0
	for _, r := range s {
		n += runeWidth(r)
	}
	return n
}

// runeWidth is how many columns of a terminal a character takes: none for combining marks and what only joins or steers
// others, two for the wide ones of East Asian scripts and for pictures (Unicode Standard Annex 11, its wide blocks).
func runeWidth(r rune) int {
	switch {
	case r < 0x300:
		return 1
	case unicode.In(r, unicode.Mn, unicode.Me) || r >= 0x200b && r <= 0x200d || r == 0x2060 || r == 0xfeff:
		return 0
	case r < 0x1100:
		return 1
	case r <= 0x115f, r >= 0x2e80 && r <= 0xa4cf && r != 0x303f, r >= 0xac00 && r <= 0xd7a3, r >= 0xf900 && r <= 0xfaff, r >= 0xfe30 && r <= 0xfe6f,
		r >= 0xff00 && r <= 0xff60, r >= 0xffe0 && r <= 0xffe6, r >= 0x1f300 && r <= 0x1f64f, r >= 0x1f680 && r <= 0x1f6ff, r >= 0x1f900 && r <= 0x1f9ff,
		r >= 0x20000 && r <= 0x3fffd:
		return 2
	}
	return 1
}

// printable is s with what would steer a terminal or turn its text about shown as �.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r)) {
			return utf8.RuneError
		}
		return r
	}, s)
}
