package main

import (
	"bufio"
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"gaugewright/grammar"
	"gaugewright/render"
	marking "gaugewright/rewrite/mark"
)

func mark(p *program, args []string) (int, error) {
	o := newOptions()
	o.text(&o.out, "out")
	var report, diff, ask bool
	o.set.BoolVar(&report, "report", false, "")
	o.set.BoolVar(&diff, "diff", false, "")
	o.set.BoolVar(&ask, "ask", false, "")
	rest, err := o.parse(args)
	path := ""
	if err == nil {
		var more []string
		path, more, err = oneDraft(rest)
		switch {
		case err != nil:
		case len(more) > 0:
			err = failuref("mark them one by one", "one draft at a time: what is %q?", more[0])
		case report && diff:
			err = failuref("ask for one of them", "--report and --diff both go to standard output")
		case ask && path == "-":
			err = failuref("give the draft as a file", "the draft and the answers cannot both be standard input")
		default:
			err = isFile(o.out, "name a file")
		}
	}
	if err != nil {
		return refused, err
	}
	s, err := p.read(path, "a draft")
	if err != nil {
		return refused, err
	}
	m, diags := marking.Mark(s.name, s.text)
	if m == nil || diags.Has(grammar.Error) {
		return refused, &misread{file: &grammar.File{Name: s.name, Src: s.text}, diags: diags}
	}
	if ask {
		m = p.ask(s, m)
	}
	slips := faults(m.Checked)
	p.tell(m.File, slips)
	shown := false
	switch {
	case report:
		shown = true
		err = p.write("", render.Marking(s.name, m), s)
	case diff:
		shown = true
		name := filepath.Base(s.name)
		err = p.write("", render.MarkingDiff(m, name, name), s)
	}
	if err == nil && (o.out != "" || !shown) {
		err = p.write(o.out, m.New, s)
	}
	if err != nil {
		return refused, err
	}
	if !report {
		fmt.Fprintf(p.stderr, "%s: %s\n", s.name, render.MarkingSummary(m))
	}
	if len(slips) > 0 {
		return found, nil
	}
	return done, nil
}

// faults are the contradictions among what checking says.
func faults(d grammar.Diagnostics) grammar.Diagnostics {
	var out grammar.Diagnostics
	for _, x := range d {
		if x.Severity >= grammar.Fault {
			out = append(out, x)
		}
	}
	return out
}

// ask goes through the doubts one by one, in the order of the text. Each answer may settle or raise others.
func (p *program) ask(s *source, m *marking.Marking) *marking.Marking {
	in := bufio.NewScanner(p.stdin)
	answers := map[int]int{}
	asked := map[int]bool{}
	for {
		next := (*marking.Doubt)(nil)
		for i := range m.Doubts {
			if !asked[m.Doubts[i].Start] {
				next = &m.Doubts[i]
				break
			}
		}
		if next == nil {
			return m
		}
		var b bytes.Buffer
		b.WriteString(render.Doubt(s.name, m, *next))
		b.WriteString("1, 2, Enter for the one with the star, q to stop: ")
		p.stderr.Write(b.Bytes())
		if !in.Scan() {
			fmt.Fprintln(p.stderr)
			return m
		}
		asked[next.Start] = true
		switch strings.ToLower(strings.TrimSpace(in.Text())) {
		case "1":
			answers[next.Start] = 0
		case "2":
			answers[next.Start] = 1
		case "":
			answers[next.Start] = next.Chosen
		case "q":
			return m
		default:
			asked[next.Start] = false
			continue
		}
		if again, _ := marking.Decided(s.name, s.text, answers); again != nil {
			m = again
		}
	}
}
