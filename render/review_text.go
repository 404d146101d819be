package render

import (
	"bytes"
	"strings"

	"gaugewright/rewrite"
)

// Terminal is how a text is to be laid out on one.
type Terminal struct {
	Width  int // columns; lines are broken at it, long words apart
	Colour bool
	All    bool // what did not change is listed, not counted
}

// ReviewText is what changed between two versions of a draft as plain text.
func ReviewText(r *rewrite.Comparison, o Options, t Terminal) []byte {
	w := textWriter{Terminal: t}
	w.Width = max(40, t.Width)
	if t.Colour {
		w.paint = coloured
	}
	a := accountOf(r, o)
	w.line("", w.place+printable(a.title)+w.off)
	for _, l := range a.lead {
		w.line("", printable(l))
	}
	if a.legend != "" {
		w.line("", printable(a.legend))
	}
	if r.Conversion != nil {
		w.notes(r.Conversion, o)
	}
	if !r.Tally.Any() && !t.All {
		return w.Bytes()
	}
	w.block(a)
	for i := range a.pieces {
		w.piece(&a.pieces[i])
	}
	return w.Bytes()
}

type textWriter struct {
	bytes.Buffer
	Terminal
	paint
}

// line writes words after an indent, broken at the width; lines after the first stand two further in.
func (w *textWriter) line(indent, words string) {
	w.WriteString(indent + strings.ReplaceAll(wrap(words, w.Width-len(indent)), "\n", "\n"+indent) + "\n")
}

func (w *textWriter) heading(words string) {
	w.WriteString("\n" + w.place + printable(words) + w.off + "\n")
}

func (w *textWriter) notes(c *rewrite.Conversion, o Options) {
	if said := HalfWay(c, o); len(said) > 0 {
		w.heading(knittedAlready)
		for _, s := range said {
			w.line("  ", printable(s))
		}
	}
	if !hasNotes(c, o) {
		return
	}
	w.heading(before)
	cautions, assumptions, warnings := notes(c)
	for _, g := range [...]struct {
		lead  string
		lines []string
	}{{"Take care. ", cautions}, {"Assumed. ", assumptions}, {"", warnings}} {
		for _, l := range g.lines {
			w.line("  ", printable(g.lead+l))
		}
	}
	if yarn := yarnLines(c, o); yarn != nil {
		w.line("  ", printable("Yarn. "+strings.Join(yarn, " ")))
	}
}

// block writes what the versions say and come to as a whole.
func (w *textWriter) block(a *account) {
	w.heading("What it comes to")
	for _, t := range a.totals {
		w.WriteString("  " + printable(t.name) + "\n")
		w.total("was to be", t.askedBefore, "")
		w.total("should be", t.asked, "")
		w.total("was", t.old, t.missed)
		w.total("is", t.now, t.misses)
	}
	if n := len(a.keptTotals); n > 0 && !w.All {
		w.line("  ", counted(n, "measure")+" as before.")
	} else {
		for _, t := range a.keptTotals {
			w.WriteString("  " + printable(t.name) + "\n")
			w.total("should be", t.asked, "")
			w.total("was and is", t.now, t.misses)
		}
	}
	if len(a.totals)+len(a.keptTotals) == 0 {
		w.line("  ", "Nothing in this draft says a width or a height.")
	}
	w.heading("Gauge")
	for _, g := range a.gauges {
		w.line("  ", printable(g.fabric+": "+w.change(g.old, g.now)+inBrackets(g.state)))
	}
	if len(a.measures) > 0 || a.block != "" {
		w.heading("Measures")
		for _, m := range a.measures {
			w.line("  ", printable(m.name+": "+w.change(m.old, m.now)+inBrackets(m.state)))
		}
		if a.block != "" {
			w.line("  ", a.block)
		}
	}
	if n := len(a.keptMeasures); n > 0 && w.All {
		if len(a.measures) == 0 && a.block == "" {
			w.heading("Measures")
		}
		for _, m := range a.keptMeasures {
			w.line("  ", printable(m.name+": "+m.now))
		}
	} else if n > 0 && len(a.measures) > 0 {
		w.line("  ", counted(n, "measure")+" as before.")
	}
}

func (w *textWriter) total(what, is, off string) {
	if is == "" {
		return
	}
	if off != "" {
		is += ", " + off
	}
	w.line("    ", what+strings.Repeat(" ", max(1, 11-len(what)))+printable(is))
}

// change is an old and a new value, or the one there is.
func (w *textWriter) change(old, now string) string {
	switch {
	case old == "" || old == now:
		return now
	case now == "":
		return old
	}
	return old + " → " + now
}

// withoutUnit is the old value without a unit that the new one has too.
func withoutUnit(old, now string) string {
	i, j := strings.LastIndexByte(old, ' '), strings.LastIndexByte(now, ' ')
	if i > 0 && j > 0 && old[i:] == now[j:] && !strings.HasSuffix(old, ")") {
		return old[:i]
	}
	return old
}

func inBrackets(s string) string {
	if s == "" {
		return ""
	}
	return " (" + s + ")"
}

func (w *textWriter) piece(p *pieceWords) {
	if len(p.marks)+len(p.prose) == 0 && p.state == "" && !w.All {
		w.heading(p.name)
		w.line("  ", counted(p.keptNumbers, "number")+" as before.")
		return
	}
	name := p.name
	name += inBrackets(p.state)
	w.heading(name)
	for i := range p.marks {
		w.mark(&p.marks[i])
	}
	for i := range p.prose {
		x := &p.prose[i]
		state := "text"
		if x.state != "" {
			state += ", " + x.state
		}
		w.line("  ", printable(x.where)+", "+state+": "+w.runs(shortened(x.runs)))
	}
	switch {
	case p.keptNumbers > 0 && w.All:
		w.line("  ", "As before:")
		for i := range p.kept {
			w.mark(&p.kept[i])
		}
	case p.keptNumbers > 0:
		w.line("  ", counted(p.keptNumbers, "number")+" as before.")
	}
}

func (w *textWriter) mark(m *markWords) {
	head := printable(m.where)
	if len(m.state) > 0 {
		head += ", " + printable(strings.Join(m.state, ", "))
	}
	head += ": "
	if m.told {
		head += w.runs(m.runs)
	} else {
		head += printable(m.label)
	}
	if m.name != "" {
		head += " (" + printable(m.name) + ")"
	}
	w.line("  ", head)
	if m.ties != "" {
		w.line("      ", printable(m.ties))
	}
	if m.why != "" {
		w.line("      ", printable(m.why))
	}
	for i := range m.numbers {
		n := &m.numbers[i]
		s := w.change(withoutUnit(n.old, n.now), n.now) + inBrackets(n.state)
		if n.old != "" && n.now != "" && n.old != n.now {
			s = withoutUnit(n.old, n.now) + " → " + w.place + n.now + w.off + inBrackets(n.state)
		}
		if m.told {
			s = n.label + ": " + s
		}
		w.line("      ", printableBut(s, w.paint))
		var sizes []string
		for _, x := range [...][2]string{{"should be ", n.should}, {"was ", n.oldSize}, {"is ", n.nowSize}} {
			if x[1] != "" {
				sizes = append(sizes, x[0]+x[1])
			}
		}
		if all := strings.Join(sizes, ", "); width(all) <= w.Width-8 {
			sizes = []string{all}
		}
		for _, s := range sizes {
			if s != "" {
				w.line("        ", printable(s))
			}
		}
		if n.why != "" {
			w.line("        ", printable(n.why))
		}
	}
}

// printableBut is printable for words with our own colours in them.
func printableBut(s string, p paint) string {
	if p.off == "" {
		return printable(s)
	}
	parts := strings.Split(s, p.place)
	for i := range parts {
		ends := strings.Split(parts[i], p.off)
		for j := range ends {
			ends[j] = printable(ends[j])
		}
		parts[i] = strings.Join(ends, p.off)
	}
	return strings.Join(parts, p.place)
}

// runs writes a comparison word by word: what went and what came stand in square brackets that say so.
func (w *textWriter) runs(runs []run) string {
	var b strings.Builder
	put := func(open, text, shut string) {
		words := strings.TrimSpace(text)
		if words == "" {
			return
		}
		if text[0] == ' ' || strings.HasSuffix(uncoloured(b.String()), "]") {
			b.WriteByte(' ')
		}
		b.WriteString(open + printable(words) + shut)
		if text[len(text)-1] == ' ' {
			b.WriteByte(' ')
		}
	}
	for _, r := range runs {
		switch r.is {
		case gone:
			put("[out: ", r.text, "]")
		case come:
			put(w.paint.mark+"[in: ", r.text, "]"+w.off)
		default:
			b.WriteString(printable(r.text))
		}
	}
	return strings.TrimSpace(b.String())
}

// besides is how many words are shown on either side of a change in a long passage.
const besides = 8

// shortened leaves out the middle of what stays the same, where it is long.
func shortened(runs []run) []run {
	out := make([]run, 0, len(runs))
	for i, r := range runs {
		if words := strings.Fields(r.text); r.is == both && len(runs) > 1 && len(words) > 2*besides+2 {
			head, tail := strings.Join(words[:besides], " "), strings.Join(words[len(words)-besides:], " ")
			switch i {
			case 0:
				r.text = "… " + tail + " "
			case len(runs) - 1:
				r.text = " " + head + " …"
			default:
				r.text = " " + head + " … " + tail + " "
			}
		}
		out = append(out, r)
	}
	return out
}

// uncoloured is text without colours of ours, as it is measured.
func uncoloured(s string) string {
	for {
		i := strings.Index(s, "\x1b[")
		if i < 0 {
			return s
		}
		j := strings.IndexByte(s[i:], 'm')
		if j < 0 {
			return s
		}
		s = s[:i] + s[i+j+1:]
	}
}
