package main

import (
	"bytes"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
	"gaugewright/rewrite"
)

func check(p *program, args []string) (int, error) {
	o := newOptions()
	o.text(&o.to, "to", "json")
	o.text(&o.out, "out")
	drafts, err := o.parse(args)
	if err == nil && len(drafts) == 0 {
		_, _, err = oneDraft(drafts)
	}
	if err == nil && o.out != "" && o.to == "" {
		err = failuref("add --to json", "--out is for the findings as data")
	}
	if err == nil {
		err = isFile(o.out, "name a file")
	}
	if err != nil {
		return refused, err
	}

	status := done
	var out bytes.Buffer
	var sources []*source
	for _, path := range drafts {
		s, err := p.read(path, "a draft")
		if err != nil {
			status = max(status, p.fail(err))
			continue
		}
		sources = append(sources, s)
		f, diags := grammar.Parse(s.name, s.text)
		summary := ""
		if !diags.Has(grammar.Error) {
			d, more := dsl.Read(f)
			diags = append(diags, more...)
			if d != nil {
				more, summary = rewrite.Check(d)
				diags = append(diags, more...)
			}
		}
		diags.Sort()
		switch {
		case diags.Has(grammar.Error):
			status = max(status, refused)
		case diags.Has(grammar.Fault):
			status = max(status, found)
		}
		if o.to == "json" {
			data, err := render.DiagnosticsJSON(f, diags)
			if err != nil {
				return refused, err
			}
			out.Write(data)
			continue
		}
		p.tell(f, diags)
		if summary != "" {
			out.WriteString(s.name + ": " + summary + "\n")
		}
	}
	if err := p.write(o.out, out.Bytes(), sources...); err != nil {
		return refused, err
	}
	return status, nil
}
