package main

import (
	"fmt"
	"path/filepath"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
	"gaugewright/rewrite"
)

func convert(p *program, args []string) (int, error) {
	o := newOptions()
	o.target()
	o.text(&o.to, "to", "draft", "markdown", "html", "json")
	o.text(&o.out, "out")
	o.text(&o.units, "units", "cm", "in", "both")
	o.set.BoolVar(&o.rawHTML, "raw-html", false, "")
	rest, err := o.parse(args)
	if err != nil {
		return refused, err
	}
	path, more, err := oneDraft(rest)
	if err == nil && len(more) > 0 {
		err = failuref("options with blanks in their values need quotation marks", "one draft at a time: what is %q?", more[0])
	}
	if err != nil {
		return refused, err
	}
	form, err := o.form()
	if err != nil {
		return refused, err
	}

	c, sources, err := p.converted(path, o)
	if err != nil {
		return refused, err
	}
	view := render.Options{Units: o.units, UnsafeHTML: o.rawHTML}
	switch form {
	case "draft":
		return done, p.write(o.out, c.New, sources...)
	case "markdown":
		return done, p.write(o.out, render.ReadingCopy(c, view), sources...)
	}
	if form == "json" {
		data, err := render.ChangesJSON(c)
		if err != nil {
			return refused, err
		}
		return done, p.write(o.out, data, sources...)
	}
	if form == "html" {
		page, err := render.Page(c, view)
		if err != nil {
			return refused, err
		}
		return done, p.write(o.out, page, sources...)
	}
	files, err := render.Folder(c, view, filepath.Base(c.Draft.File.Name))
	if err != nil {
		return refused, err
	}
	return done, writeFolder(o.out, files, sources)
}

// converted reads a draft and re-derives it, and tells on the way what there is to tell. A draft whose own sums do not
// hold is refused: nobody could say which of its numbers to keep.
func (p *program) converted(path string, o *options) (*rewrite.Conversion, []*source, error) {
	switch {
	case path == "-" && o.body == "-":
		return nil, nil, failuref("give one of them as a file", "the draft and the body card cannot both be standard input")
	case o.swatch == "-" && (path == "-" || o.body == "-"):
		return nil, nil, failuref("give the other as a file", "the swatch card is not all that is asked of standard input")
	}
	d, s, diags, err := p.draft(path)
	if err != nil {
		return nil, nil, err
	}
	f := d.File
	r, sources, err := p.request(o, d)
	if err != nil {
		return nil, nil, err
	}
	c, more := rewrite.Convert(d, r)
	if c == nil || more.Has(grammar.Error) {
		return nil, nil, &misread{file: f, diags: more}
	}
	diags = append(diags, more...)
	diags.Sort()
	p.tell(f, diags)
	for _, said := range []struct {
		as   string
		what []string
	}{{"warning", c.Cautions}, {"warning", c.Warnings}, {"note", c.Assumptions}, {"note", render.HalfWay(c, render.Options{Units: o.units})}} {
		for _, text := range said.what {
			fmt.Fprintf(p.stderr, "%s: %s: %s\n", f.Name, said.as, text)
		}
	}
	return c, append(sources, s), nil
}

// draft reads a draft whose own sums hold, with the notes and warnings there are about it.
func (p *program) draft(path string) (*dsl.Draft, *source, grammar.Diagnostics, error) {
	d, s, diags, err := p.anyDraft(path)
	if err == nil && diags.Has(grammar.Fault) {
		err = &misread{file: d.File, diags: diags, then: fmt.Sprintf("%s: its own sums do not hold, so there is nothing sound to convert", d.File.Name)}
	}
	return d, s, diags, err
}

// anyDraft reads a draft, whether or not its sums hold.
func (p *program) anyDraft(path string) (*dsl.Draft, *source, grammar.Diagnostics, error) {
	s, err := p.read(path, "a draft")
	if err != nil {
		return nil, nil, nil, err
	}
	f, diags := grammar.Parse(s.name, s.text)
	if diags.Has(grammar.Error) {
		return nil, nil, nil, &misread{file: f, diags: diags}
	}
	d, more := dsl.Read(f)
	diags = append(diags, more...)
	diags.Sort()
	if diags.Has(grammar.Error) {
		return nil, nil, nil, &misread{file: f, diags: diags}
	}
	return d, s, diags, nil
}
