package main

import (
	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
)

func swatch(p *program, args []string) (int, error) {
	o := newOptions()
	o.text(&o.to, "to", "text", "json")
	o.text(&o.out, "out")
	o.text(&o.units, "units", "cm", "in")
	rest, err := o.parse(args)
	if err == nil && len(rest) == 0 {
		err = failuref("name a file, or - for standard input", "which card?")
	}
	if err == nil && len(rest) > 1 {
		err = failuref("options with blanks in their values need quotation marks", "one card at a time: what is %q?", rest[1])
	}
	if err == nil {
		err = isFile(o.out, "name a file")
	}
	if err != nil {
		return refused, err
	}
	c, s, diags, err := p.card(rest[0])
	if err != nil {
		return refused, err
	}
	p.tell(c.File, diags)
	text := render.Swatches(c, render.Options{Units: o.units})
	if o.to == "json" {
		if text, err = render.SwatchesJSON(c); err != nil {
			return refused, err
		}
	}
	return done, p.write(o.out, text, s)
}

// card reads a swatch card, with what there is to tell about it.
func (p *program) card(path string) (*dsl.Card, *source, grammar.Diagnostics, error) {
	s, err := p.read(path, "a swatch card")
	if err != nil {
		return nil, nil, nil, err
	}
	f, diags := grammar.Parse(s.name, s.text)
	if diags.Has(grammar.Error) {
		return nil, nil, nil, &misread{file: f, diags: diags}
	}
	c, more := dsl.ReadCard(f)
	diags = append(diags, more...)
	diags.Sort()
	if c == nil {
		return nil, nil, nil, &misread{file: f, diags: diags}
	}
	return c, s, diags, nil
}
