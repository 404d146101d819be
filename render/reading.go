package render

import (
	"bytes"
	"math/big"
	"slices"
	"sort"
	"strings"

	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// ReadingCopy is the Markdown to knit from: instructions with the new numbers and without braces and ties, spreads
// written out, the draft block as tables of sizes and gauge, the rest of the text byte for byte, and at the end what
// was assumed and what to look at.
func ReadingCopy(c *rewrite.Conversion, o Options) []byte {
	f := c.Draft.File
	src := f.Src
	texts := wordings(c, o)
	eol := "\n"
	if i := bytes.IndexByte(src, '\n'); i > 0 && src[i-1] == '\r' {
		eol = "\r\n"
	}
	cuts := make([]cut, 0, len(f.Marks)+1)
	for i, m := range f.Marks {
		cuts = append(cuts, cut{span: m.Span, text: &texts[i]})
	}
	if d := c.Draft.Block; d != nil {
		cuts = append(cuts, cut{span: d.Span})
	}
	inOrder := func(a, b cut) int { return a.span.Start - b.span.Start }
	slices.SortStableFunc(cuts, inOrder)
	if more := outside(c.Edits, cuts); len(more) > 0 {
		cuts = append(cuts, more...)
		slices.SortStableFunc(cuts, inOrder)
	}
	sizes := sizeNames(c)
	var b bytes.Buffer
	b.Grow(len(src) + len(src)/2)
	at := 0
	for i := range cuts {
		k := &cuts[i]
		if k.span.Start < at {
			continue // a mark inside the block: the block's
		}
		b.Write(src[at:k.span.Start])
		switch {
		case k.text != nil:
			writeInstruction(&b, k.text, sizes)
		case k.edit != nil:
			b.WriteString(k.edit.New)
		default:
			writeTables(&b, c, o, src, k.span, eol)
		}
		at = k.span.End
	}
	b.Write(src[at:])
	writeSeconds(&b, c, eol)
	if s := b.Bytes(); (hasNotes(c, o) || c.HalfWay != nil) && len(s) > 0 && s[len(s)-1] != '\n' {
		b.WriteString(eol)
	}
	writeHalfWay(&b, c, o, eol)
	writeNotes(&b, c, o, eol)
	return b.Bytes()
}

// cut is a stretch of the source that is written anew: an instruction, an edit elsewhere, or the draft block.
type cut struct {
	span grammar.Span
	text *wording
	edit *rewrite.Edit
}

// outside are the edits that lie in none of the cuts, which are in order.
func outside(edits []rewrite.Edit, cuts []cut) []cut {
	var out []cut
	for i := range edits {
		e := &edits[i]
		k := sort.Search(len(cuts), func(k int) bool { return cuts[k].span.End > e.Start })
		if k < len(cuts) && cuts[k].span.Start < max(e.End, e.Start+1) {
			continue
		}
		out = append(out, cut{span: grammar.Span{Start: e.Start, End: e.End}, edit: e})
	}
	return out
}

func writeInstruction(b *bytes.Buffer, w *wording, sizes []string) {
	at := b.Len()
	for i := range w.stretches {
		b.WriteString(w.stretches[i].text)
	}
	if text := b.Bytes()[at:]; opensBlock(text) && startsLine(b.Bytes()[:at]) {
		i := 0
		if text[0] >= '0' && text[0] <= '9' {
			i = max(0, bytes.IndexAny(text, ".)"))
		}
		rest := string(text[i:])
		b.Truncate(at + i)
		b.WriteByte('\\')
		b.WriteString(rest)
	}
	switch s := spread(w, sizes); {
	case len(s) == 0:
	case s[0].size == "":
		b.WriteString(w.aside(s[0].text))
	default:
		b.WriteString(" (")
		for i, x := range s {
			if i > 0 {
				b.WriteString("; ")
			}
			b.WriteString("**" + escapeMarkdown(x.size) + ":** " + x.text)
		}
		b.WriteString(")")
	}
}

// opensBlock says whether text at the start of a line would be read as a list item, a heading or a quotation.
func opensBlock(s []byte) bool {
	if len(s) == 0 {
		return false
	}
	blank := func(i int) bool { return i >= len(s) || s[i] == ' ' || s[i] == '\t' || s[i] == '\n' || s[i] == '\r' }
	switch s[0] {
	case '>':
		return true
	case '-', '+', '*':
		return blank(1)
	case '#':
		return blank(len(s) - len(bytes.TrimLeft(s, "#")))
	}
	i := 0
	for i < len(s) && s[i] >= '0' && s[i] <= '9' {
		i++
	}
	return i > 0 && i < len(s) && (s[i] == '.' || s[i] == ')') && blank(i+1)
}

// startsLine says whether what is written so far ends at the start of a line, up to blanks and signs of lists and
// quotations.
func startsLine(b []byte) bool {
	line := b[bytes.LastIndexByte(b, '\n')+1:]
	return len(bytes.Trim(line, " \t>-+*0123456789.)")) == 0
}

// writeTables puts two tables in the place of the draft block: the measures size by size, and the gauge of each fabric.
func writeTables(b *bytes.Buffer, c *rewrite.Conversion, o Options, src []byte, at grammar.Span, eol string) {
	prefix := continuation(src[bytes.LastIndexByte(src[:at.Start], '\n')+1 : at.Start])
	empty := strings.TrimRight(prefix, " ")
	lineEnds := func(next string) {
		b.WriteString(eol)
		b.WriteString(next)
	}
	cell := func(parts ...string) {
		b.WriteString(" ")
		for _, p := range parts {
			b.WriteString(p)
		}
		b.WriteString(" |")
	}
	row := func(cells ...string) {
		b.WriteString("|")
		for _, c := range cells {
			cell(c)
		}
	}
	if t := sizeTable(c, o); len(t.rows) > 0 {
		row("Measure")
		for _, s := range t.sizes {
			cell(escapeMarkdown(s))
		}
		lineEnds(prefix)
		row("---")
		for range t.sizes {
			cell("---:")
		}
		for _, r := range t.rows {
			lineEnds(prefix)
			row(escapeMarkdown(r.name))
			for i, v := range r.values {
				switch {
				case r.second != nil:
					cell(v, " ", r.unit, " [", r.second[i], " ", r.secondUnit, "]")
				case r.unit != "" && v != "":
					cell(v, " ", r.unit)
				default:
					cell(v)
				}
			}
		}
		lineEnds(empty)
		lineEnds(prefix)
	} else if len(c.Targets) > 1 || len(c.Targets) == 1 && c.Targets[0].Name != "" {
		names := sizeNames(c)
		for i, s := range names {
			names[i] = escapeMarkdown(s)
		}
		b.WriteString("Sizes: ")
		b.WriteString(layout(names, sizesStyle(c)))
		lineEnds(empty)
		lineEnds(prefix)
	}
	changed := gaugeChanged(c)
	if changed {
		row("Fabric", "Gauge of this copy", "Gauge of the draft")
		lineEnds(prefix)
		row("---", "---", "---")
	} else {
		row("Fabric", "Gauge")
		lineEnds(prefix)
		row("---", "---")
	}
	for _, g := range c.Gauges {
		assumed := ""
		if g.Assumed {
			assumed = " (assumed)"
		}
		lineEnds(prefix)
		row(escapeMarkdown(g.Fabric))
		cell(gaugeText(g, true), assumed)
		if changed {
			cell(gaugeText(g, false))
		}
	}
	if at.End > 0 && src[at.End-1] == '\n' {
		b.WriteString(eol)
	}
}

// continuation is what a further line of a block begins with, given what its first line begins with: signs of lists
// become blanks, those of quotations stay.
func continuation(first []byte) string {
	first = bytes.TrimPrefix(first, []byte("\ufeff"))
	out := make([]byte, len(first))
	for i, c := range first {
		out[i] = ' '
		if c == '>' || c == '\t' {
			out[i] = c
		}
	}
	return string(out)
}

// sizesStyle is the layout that the draft lists its sizes in.
func sizesStyle(c *rewrite.Conversion) grammar.ListStyle {
	if c.Draft.Block == nil || c.Draft.Block.Sizes == nil {
		return grammar.ListStyle{}
	}
	return c.Draft.Block.Sizes.Style
}

func gaugeChanged(c *rewrite.Conversion) bool {
	for _, g := range c.Gauges {
		if !g.From.Same(g.To) {
			return true
		}
	}
	return false
}

// sizes is the table of measures.
type sizes struct {
	sizes []string
	rows  []sizesRow
}

type sizesRow struct {
	name, unit, secondUnit string
	values, second         []string
}

func sizeTable(c *rewrite.Conversion, o Options) sizes {
	t := sizes{sizes: sizeNames(c)}
	for _, m := range c.Measures {
		r := sizesRow{name: m.Name}
		if m.Length {
			first, second := o.shown(m.Unit)
			r.unit = unitName(first)
			r.values = tapes(m.To, first)
			if second != grammar.NoUnit {
				r.secondUnit, r.second = unitName(second), tapes(m.To, second)
			}
		} else {
			for _, x := range m.To {
				if x == nil {
					r.values = append(r.values, "")
					continue
				}
				if m.Unit == grammar.Percent {
					x = new(big.Rat).Mul(x, big.NewRat(100, 1))
					r.unit = "%"
				}
				r.values = append(r.values, decimals(x, 3))
			}
		}
		t.rows = append(t.rows, r)
	}
	return t
}

func tapes(x []*big.Rat, u grammar.Unit) []string {
	out := make([]string, len(x))
	for i, v := range x {
		if v != nil {
			out[i] = tape(v, u)
		}
	}
	return out
}

func writeNotes(b *bytes.Buffer, c *rewrite.Conversion, o Options, eol string) {
	if !hasNotes(c, o) {
		return
	}
	b.WriteString(eol + "## " + before + eol + eol)
	cautions, assumptions, warnings := notes(c)
	for _, g := range []struct {
		lead  string
		lines []string
	}{{"**Take care.** ", cautions}, {"*Assumed.* ", assumptions}, {"", warnings}} {
		for _, l := range g.lines {
			b.WriteString("- " + g.lead + noteMarkdown(l) + eol)
		}
	}
	if yarn := yarnLines(c, o); yarn != nil {
		b.WriteString("- *Yarn.* " + escapeMarkdown(strings.Join(yarn, " ")) + eol)
	}
}

// noteMarkdown is a note with what it quotes between backticks left as code.
func noteMarkdown(s string) string {
	parts := strings.Split(s, "`")
	if len(parts) < 3 || len(parts)%2 == 0 {
		return escapeMarkdown(s)
	}
	for i := range parts {
		if i%2 == 0 {
			parts[i] = escapeMarkdown(parts[i])
		} else {
			parts[i] = strings.Join(strings.Fields(parts[i]), " ")
		}
	}
	return strings.Join(parts, "`")
}

// escapeMarkdown keeps text from being read as mark-up, in a table too.
func escapeMarkdown(s string) string {
	if !strings.ContainsAny(s, "\\`*_[]<>|&~\r\n{}") {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		switch c := s[i]; c {
		case '\\', '`', '*', '_', '[', ']', '<', '>', '|', '&', '~', '{', '}':
			b.WriteByte('\\')
			b.WriteByte(c)
		case '\r', '\n':
			b.WriteByte(' ')
		default:
			b.WriteByte(c)
		}
	}
	return b.String()
}
