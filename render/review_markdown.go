package render

import (
	"bytes"
	"strings"

	"gaugewright/rewrite"
)

// ReviewMarkdown is what changed between two versions of a draft as Markdown with tables. With all, what did not change is listed
// and not only counted.
func ReviewMarkdown(r *rewrite.Comparison, o Options, all bool) []byte {
	a := accountOf(r, o)
	var w markdownWriter
	w.WriteString("# " + escapeMarkdown(a.title) + "\n")
	for _, l := range append(a.lead, a.legend) {
		if l != "" {
			w.WriteString("\n" + escapeMarkdown(l) + "\n")
		}
	}
	if r.Conversion != nil {
		writeHalfWay(&w.Buffer, r.Conversion, o, "\n")
		writeNotes(&w.Buffer, r.Conversion, o, "\n")
	}
	w.whole(a, all)
	for i := range a.pieces {
		w.piece(&a.pieces[i], all)
	}
	return w.Bytes()
}

type markdownWriter struct{ bytes.Buffer }

func (w *markdownWriter) heading(words string) {
	w.WriteString("\n## " + escapeMarkdown(words) + "\n\n")
}

// paragraph writes a paragraph after a blank line.
func (w *markdownWriter) paragraph(words string) {
	if !bytes.HasSuffix(w.Bytes(), []byte("\n\n")) {
		w.WriteString("\n")
	}
	w.WriteString(words + "\n")
}

func (w *markdownWriter) row(cells ...string) {
	w.WriteString("|")
	for _, c := range cells {
		w.WriteString(" " + c)
		if c != "" {
			w.WriteString(" ")
		}
		w.WriteString("|")
	}
	w.WriteString("\n")
}

func (w *markdownWriter) table(columns ...string) {
	w.row(columns...)
	w.WriteString(strings.Repeat("| --- ", len(columns)) + "|\n")
}

// cellOf is a value with more of it after it.
func cellOf(value string, more ...string) string {
	s := escapeMarkdown(value)
	for _, m := range more {
		if m != "" {
			s += ", " + escapeMarkdown(m)
		}
	}
	return strings.TrimPrefix(s, ", ")
}

func strong(s string) string {
	if s == "" {
		return ""
	}
	return "**" + s + "**"
}

func (w *markdownWriter) whole(a *account, all bool) {
	w.heading("What it comes to")
	totals := a.totals
	if all {
		totals = append(totals[:len(totals):len(totals)], a.keptTotals...)
	}
	if len(totals) > 0 {
		w.table("Measure", "Should be", "Before", "Now")
		for _, t := range totals {
			before := ""
			if t.askedBefore != "" && t.askedBefore != t.asked {
				before = "was to be " + t.askedBefore
			}
			w.row(escapeMarkdown(t.name), cellOf(t.asked, before), cellOf(t.old, t.missed), cellOf(t.now, t.misses))
		}
	}
	if n := len(a.keptTotals); n > 0 && !all {
		w.paragraph(counted(n, "measure") + " as before.")
	}
	if len(a.totals)+len(a.keptTotals) > 0 {
		w.WriteString("\n")
	}
	w.table("Gauge", "Before", "Now")
	for _, g := range a.gauges {
		w.row(escapeMarkdown(g.fabric), escapeMarkdown(g.old), cellOf(g.now, g.state))
	}
	measures := a.measures
	if all {
		measures = append(measures[:len(measures):len(measures)], a.keptMeasures...)
	}
	if len(measures) > 0 {
		w.WriteString("\n")
		w.table("Measure", "Before", "Now")
		for _, m := range measures {
			w.row(escapeMarkdown(m.name), escapeMarkdown(m.old), cellOf(m.now, m.state))
		}
	}
	if a.block != "" {
		w.paragraph(a.block)
	}
	if n := len(a.keptMeasures); n > 0 && !all {
		w.paragraph(counted(n, "measure") + " as before.")
	}
}

func (w *markdownWriter) piece(p *pieceWords, all bool) {
	name := p.name
	name += inBrackets(p.state)
	w.heading(name)
	if len(p.marks) > 0 {
		w.table("Instruction", "Before", "Now", "Should be", "Why")
		for i := range p.marks {
			w.mark(&p.marks[i])
		}
	}
	for i := range p.prose {
		x := &p.prose[i]
		state := "Text, " + x.where
		if x.state != "" {
			state += ", " + x.state
		}
		w.paragraph("*" + state + ":* " + runsMarkdown(x.runs))
	}
	switch {
	case p.keptNumbers > 0 && all:
		w.paragraph("As before:")
		w.WriteString("\n")
		w.table("Instruction", "Before and now", "Should be", "Why")
		for i := range p.kept {
			m := &p.kept[i]
			for j := range m.numbers {
				n := &m.numbers[j]
				label := escapeMarkdown(m.label)
				if len(m.numbers) > 1 {
					label += ": " + escapeMarkdown(n.label)
				}
				w.row(label+markdownAside(m), cellOf(n.now, sized(n.nowSize)), escapeMarkdown(n.should), escapeMarkdown(n.why))
			}
		}
	case p.keptNumbers > 0:
		w.paragraph(counted(p.keptNumbers, "number") + " as before.")
	}
}

func markdownAside(m *markWords) string {
	s := ""
	if m.name != "" {
		s = " *" + escapeMarkdown(m.name) + "*"
	}
	return s + ", " + m.where
}

func (w *markdownWriter) mark(m *markWords) {
	if m.told || m.ties != "" || len(m.numbers) == 0 {
		head := escapeMarkdown(m.label)
		if m.told {
			head = runsMarkdown(m.runs)
		}
		if len(m.state) > 0 {
			head = strong(strings.Join(m.state, ", ")) + ": " + head
		}
		head += markdownAside(m)
		if m.ties != "" {
			head += "; " + escapeMarkdown(m.ties)
		}
		if m.why != "" {
			head += "; " + escapeMarkdown(m.why)
		}
		w.row(head, "", "", "", "")
	}
	for i := range m.numbers {
		n := &m.numbers[i]
		label := escapeMarkdown(m.label) + markdownAside(m)
		if m.told || m.ties != "" {
			label = escapeMarkdown(n.label)
		}
		now := strong(escapeMarkdown(n.now))
		if more := cellOf("", sized(n.nowSize), n.state); more != "" {
			now = strings.TrimPrefix(now+", "+more, ", ")
		}
		w.row(label, cellOf(n.old, sized(n.oldSize)), now, escapeMarkdown(n.should), escapeMarkdown(n.why))
	}
}

// runsMarkdown writes a comparison word by word: what went struck through, what came in bold. Such marks hold only beside a blank.
func runsMarkdown(runs []run) string {
	var b strings.Builder
	ended := false
	for _, r := range runs {
		text, sign := escapeMarkdown(r.text), ""
		switch r.is {
		case gone:
			sign = "~~"
		case come:
			sign = "**"
		}
		bare := strings.TrimSpace(text)
		if s := b.String(); s != "" && !strings.HasSuffix(s, " ") && (ended || sign != "") && !strings.HasPrefix(text, " ") {
			b.WriteByte(' ')
		}
		if sign == "" || bare == "" {
			b.WriteString(text)
			ended = false
			continue
		}
		before, after, _ := strings.Cut(text, bare)
		b.WriteString(before + sign + bare + sign + after)
		ended = true
	}
	return strings.Join(strings.Fields(b.String()), " ")
}
