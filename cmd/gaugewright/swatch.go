package main

import (
	"fmt"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
	"gaugewright/rewrite"
)

func swatch(p *program, args []string) (int, error) {
	o := newOptions()
	o.list(&o.sizes, "size")
	o.text(&o.body, "body")
	o.list(&o.measures, "measure")
	o.text(&o.to, "to", "text", "json")
	o.text(&o.out, "out")
	o.text(&o.units, "units", "cm", "in")
	rest, err := o.parse(args)
	switch {
	case err != nil:
	case len(rest) == 0:
		err = failuref("name a file, or - for standard input", "which card?")
	case len(rest) > 2:
		err = failuref("options with blanks in their values need quotation marks", "one card and one draft at a time: what is %q?", rest[2])
	case len(rest) == 1 && (o.body != "" || len(o.sizes)+len(o.measures) > 0):
		err = failuref("name the draft after the card", "a size or a wearer is asked for, but no draft")
	default:
		err = isFile(o.out, "name a file")
	}
	if err != nil {
		return refused, err
	}
	view := render.Options{Units: o.units}
	if len(rest) == 2 {
		return p.decide(rest[0], rest[1], o, view)
	}
	c, s, err := p.card(rest[0])
	if err != nil {
		return refused, err
	}
	text := render.Swatches(c, view)
	if o.to == "json" {
		if text, err = render.SwatchesJSON(c); err != nil {
			return refused, err
		}
	}
	return done, p.write(o.out, text, s)
}

// decide tells what a card means for a draft.
func (p *program) decide(card, draft string, o *options, view render.Options) (int, error) {
	in := 0
	for _, path := range []string{card, draft, o.body} {
		if path == "-" {
			in++
		}
	}
	if in > 1 {
		return refused, failuref("give the others as files", "only one of the card, the draft and the body card can be standard input")
	}
	c, s, err := p.card(card)
	if err != nil {
		return refused, err
	}
	sources := []*source{s}
	d, ds, diags, err := p.draft(draft)
	if err != nil {
		return refused, err
	}
	sources = append(sources, ds)
	r, more, err := p.request(o, d)
	if err != nil {
		return refused, err
	}
	sources = append(sources, more...)
	x, found, onCard := rewrite.Decide(d, c, r)
	if x == nil {
		f := d.File
		if onCard {
			f = c.File
		}
		return refused, &misread{file: f, diags: found}
	}
	if !onCard {
		diags = append(diags, found...)
	}
	diags.Sort()
	p.tell(d.File, diags)
	for _, text := range x.Warnings {
		fmt.Fprintf(p.stderr, "%s: warning: %s\n", d.File.Name, text)
	}
	text := render.Decision(x, view)
	if o.to == "json" {
		if text, err = render.DecisionJSON(x); err != nil {
			return refused, err
		}
	}
	return done, p.write(o.out, text, sources...)
}

// card reads a swatch card, and tells what there is to tell about it.
func (p *program) card(path string) (*dsl.Card, *source, error) {
	s, err := p.read(path, "a swatch card")
	if err != nil {
		return nil, nil, err
	}
	f, diags := grammar.Parse(s.name, s.text)
	if diags.Has(grammar.Error) {
		return nil, nil, &misread{file: f, diags: diags}
	}
	c, more := dsl.ReadCard(f)
	diags = append(diags, more...)
	diags.Sort()
	if c == nil {
		return nil, nil, &misread{file: f, diags: diags}
	}
	p.tell(f, diags)
	return c, s, nil
}
