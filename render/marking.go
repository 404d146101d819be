package render

import (
	"bytes"
	"fmt"
	"sort"

	"gaugewright/grammar"
	"gaugewright/rewrite/mark"
)

// Marking is the report on a plain text that was marked: each thing that got braces, each number that was left alone and why, and
// each doubt, in the order of the text, so that a person can go through it.
func Marking(name string, m *mark.Marking) []byte {
	f := &grammar.File{Name: name, Src: m.Old}
	type entry struct {
		at    int
		order int
		text  string
	}
	var list []entry
	place := func(at int) string {
		line, column := f.Position(at)
		return fmt.Sprintf("%d:%d", line, column)
	}
	for _, x := range m.Found {
		var b bytes.Buffer
		fmt.Fprintf(&b, "%-8s marked  %s: {%s}\n", place(x.Start), x.Kind, printable(x.Text))
		for _, t := range x.Ties {
			fmt.Fprintf(&b, "                 | %s", printable(t.Text))
			if t.Why != "" {
				fmt.Fprintf(&b, " (%s)", printable(t.Why))
			}
			if t.Guess {
				b.WriteString("  check this")
			}
			b.WriteByte('\n')
		}
		for _, why := range x.Untied {
			fmt.Fprintf(&b, "                 no tie: %s\n", printable(why))
		}
		list = append(list, entry{x.Start, 0, b.String()})
	}
	for _, x := range m.Doubts {
		list = append(list, entry{x.Start, 1, Doubt(name, m, x)})
	}
	for _, x := range m.Left {
		list = append(list, entry{x.Start, 2, fmt.Sprintf("%-8s left    %s: %s\n", place(x.Start), printable(x.Text), x.Why)})
	}
	sort.SliceStable(list, func(i, j int) bool {
		if list[i].at != list[j].at {
			return list[i].at < list[j].at
		}
		return list[i].order < list[j].order
	})
	var b bytes.Buffer
	if m.Block != "" {
		b.WriteString("put in at the top; look at what says `check this`:\n\n")
		for _, l := range bytes.Split(bytes.TrimSpace([]byte(m.Block)), []byte("\n")) {
			b.WriteString("    " + printable(string(l)) + "\n")
		}
		b.WriteByte('\n')
	}
	for _, e := range list {
		b.WriteString(e.text)
	}
	b.WriteString("\n" + MarkingSummary(m) + "\n")
	return b.Bytes()
}

// Doubt is a doubt with both its readings, the chosen one marked.
func Doubt(name string, m *mark.Marking, x mark.Doubt) string {
	f := &grammar.File{Name: name, Src: m.Old}
	line, column := f.Position(x.Start)
	var b bytes.Buffer
	fmt.Fprintf(&b, "%-8s doubt   {%s}: %s\n", fmt.Sprintf("%d:%d", line, column), printable(x.Text), x.Question)
	for i, r := range x.Readings {
		sign := " "
		if i == x.Chosen {
			sign = "*"
		}
		fmt.Fprintf(&b, "               %s %d  %s\n", sign, i+1, r.Means)
	}
	why := x.Why
	if why == "" {
		why = "nothing in the text decides"
	}
	fmt.Fprintf(&b, "                 %s\n", printable(why))
	return b.String()
}

// MarkingSummary is one line on what was found.
func MarkingSummary(m *mark.Marking) string {
	open := 0
	for _, d := range m.Doubts {
		if d.Why == "" {
			open++
		}
	}
	slips := 0
	for _, d := range m.Checked {
		if d.Severity >= grammar.Fault {
			slips++
		}
	}
	return fmt.Sprintf("%s marked, %s left alone, %s (%d open), %s", plural(len(m.Found), "instruction", "instructions"), plural(len(m.Left), "number", "numbers"),
		plural(len(m.Doubts), "doubt", "doubts"), open, plural(slips, "contradiction", "contradictions"))
}

func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
