package main

import (
	"errors"
	"fmt"
	"math/big"
	"path/filepath"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// optionMisread is what is wrong with the text of an option; the places in diags are places in it.
func optionMisread(option, text string, diags ...grammar.Diagnostic) error {
	return &misread{file: &grammar.File{Name: "--" + option, Src: []byte(text)}, diags: diags}
}

func wrong(at grammar.Span, try, format string, args ...any) grammar.Diagnostic {
	return grammar.Diagnostic{Severity: grammar.Error, Span: at, Summary: fmt.Sprintf(format, args...), WayOut: try}
}

// readGauge reads `18 sts and 25 rows to 10 cm`, with or without the name of a fabric before it.
func readGauge(option, text string, d *dsl.Draft) (rewrite.AskedGauge, error) {
	piece := ""
	if name, _, ok := strings.Cut(text, ":"); ok && option == "gauge" && strings.HasPrefix(strings.ToLower(strings.TrimSpace(name)), "second") {
		// An ordinal is no name in the notation: blanks in its place keep the places of what follows.
		if !secondOfPair(d, name) {
			return rewrite.AskedGauge{}, optionMisread(option, text, wrong(grammar.Span{End: len(name)}, "say `{make 2}` under the heading of what is made twice, or give the second a heading of its own, and name it by its heading: `second sleeve`", "nothing of that name is made twice in the draft"))
		}
		piece = strings.TrimSpace(name)
		text = strings.Repeat(" ", len(name)+1) + text[len(name)+1:]
	}
	fabric, said, err := grammar.ParseGauge(text)
	if err != nil {
		return rewrite.AskedGauge{}, gaugeMisread(option, text, err)
	}
	if err := knownFabric(option, text, fabric, d); err != nil {
		if !secondOfPair(d, fabric) || option != "gauge" {
			return rewrite.AskedGauge{}, err
		}
		fabric, piece = "", fabric
	}
	g, err := dsl.ReadGauge(*said)
	if err != nil {
		return rewrite.AskedGauge{}, optionMisread(option, text, wrong(said.Span, "write it like `18 sts and 25 rows to 10 cm`", "%s", err))
	}
	return rewrite.AskedGauge{Fabric: fabric, Piece: piece, Gauge: g, Text: text[said.Span.Start:said.Span.End], Over: said.Over}, nil
}

// secondOfPair says whether a name is that of a piece that may have a gauge of its own.
func secondOfPair(d *dsl.Draft, name string) bool {
	_, _, again := d.Again(name)
	_, written := d.WrittenOut(name)
	return again || written
}

// gaugeMisread is what is wrong with a gauge that cannot be read.
func gaugeMisread(option, text string, err error) error {
	var diags grammar.Diagnostics
	if !errors.As(err, &diags) {
		diags = grammar.Diagnostics{wrong(grammar.Span{}, "", "%s", err)}
	}
	return optionMisread(option, text, diags...)
}

// knownFabric refuses a gauge of a fabric that the draft does not have; "" is its first.
func knownFabric(option, text, fabric string, d *dsl.Draft) error {
	var names []string
	for _, f := range d.Fabrics {
		names = append(names, f.Name)
		if fabric == "" || grammar.Key(f.Name) == fabric {
			return nil
		}
	}
	at := grammar.Span{End: strings.Index(text, ":")}
	return optionMisread(option, text, wrong(at, knownNames(fabric, "fabrics", names), "the draft has no fabric called %s", fabric))
}

// readTighter reads `sleeve 4%`: a fabric, and by how much it comes out tighter than the first.
func readTighter(text string) (rewrite.Tighter, error) {
	refuse := func(format string, args ...any) (rewrite.Tighter, error) {
		return rewrite.Tighter{}, optionMisread("tighter", text, wrong(grammar.Span{End: len(text)}, "write it like `sleeve 4%`", format, args...))
	}
	said, ok := strings.CutSuffix(strings.TrimSpace(text), "%")
	words := strings.Fields(said)
	if !ok || len(words) < 2 {
		return refuse("a fabric and a percentage are wanted")
	}
	number := words[len(words)-1]
	by, ok := new(big.Rat).SetString(number)
	if !ok || strings.ContainsAny(number, "eExXpP_/") {
		return refuse("%s is no percentage", number)
	}
	if by.Sign() <= 0 || by.Cmp(big.NewRat(30, 1)) > 0 {
		return refuse("%s %% is no allowance: more than nothing, and 30 %% at the most", number)
	}
	return rewrite.Tighter{Fabric: grammar.Key(strings.Join(words[:len(words)-1], " ")), By: by.Quo(by, big.NewRat(100, 1))}, nil
}

// readKnitted reads `underarm`, a label; and with what the work up to there has for a gauge, where that is not the new one:
// `underarm as drafted`, `underarm at 22 sts and 30 rows to 10 cm; rib: 24 sts and 32 rows to 10 cm`. A label goes before these
// words, since it may hold them.
func readKnitted(text string, d *dsl.Draft, into *rewrite.Request) error {
	into.Knitted = text
	if text == "" || d.Labelled(text) >= 0 {
		return nil
	}
	if label, ok := cutEnd(text, " as drafted"); ok && d.Labelled(label) >= 0 {
		into.Knitted, into.KnittedAsDrafted = label, true
		return nil
	}
	for at := 0; ; {
		i := strings.Index(strings.ToLower(text[at:]), " at ")
		if i < 0 {
			return nil // the label is looked up, and told, with the rest
		}
		if at += i + len(" at "); d.Labelled(text[:at-len(" at ")]) < 0 {
			continue
		}
		into.Knitted = strings.TrimSpace(text[:at-len(" at ")])
		for _, one := range strings.Split(text[at:], ";") {
			g, err := readGauge("knitted", strings.TrimSpace(one), d)
			if err != nil {
				return err
			}
			into.KnittedAt = append(into.KnittedAt, g)
		}
		return nil
	}
}

// cutEnd takes words off the end of a text, in any spelling of case.
func cutEnd(text, words string) (string, bool) {
	text = strings.TrimSpace(text)
	if n := len(text) - len(words); n > 0 && strings.EqualFold(text[n:], words) {
		return strings.TrimSpace(text[:n]), true
	}
	return "", false
}

// request reads what a draft is to be converted to. It returns the sources it read, too: nothing is written over them.
func (p *program) request(o *options, d *dsl.Draft) (rewrite.Request, []*source, error) {
	r := rewrite.Request{Sizes: o.sizes}
	if err := readKnitted(o.knitted, d, &r); err != nil {
		return r, nil, err
	}
	for _, text := range o.gauges {
		g, err := readGauge("gauge", text, d)
		if err != nil {
			return r, nil, err
		}
		r.Gauges = append(r.Gauges, g)
	}
	for _, text := range o.tighter {
		t, err := readTighter(text)
		if err != nil {
			return r, nil, err
		}
		r.Tighter = append(r.Tighter, t)
	}
	for _, text := range o.pins {
		pin, err := readPin(text)
		if err != nil {
			return r, nil, err
		}
		r.Pins = append(r.Pins, pin)
	}
	var sources []*source
	if o.swatch != "" {
		card, s, err := p.card(o.swatch)
		if err != nil {
			return r, nil, err
		}
		sources = append(sources, s)
		all, diags := rewrite.WithSwatches(d, card, r.Gauges)
		if diags.Has(grammar.Error) {
			return r, nil, &misread{file: card.File, diags: diags}
		}
		r.Gauges = all
	}
	if o.body != "" || len(o.measures) > 0 {
		r.Measures = map[string]*big.Rat{}
	}
	if o.body != "" {
		s, err := p.read(o.body, "a body card")
		if err != nil {
			return r, nil, err
		}
		sources = append(sources, s)
		if r.Wearer, err = readCard(s, d, r.Measures); err != nil {
			return r, nil, err
		}
	}
	// Measures of the command line go before those of the card: they are what is being tried.
	given := map[string]*big.Rat{}
	for _, text := range o.measures {
		def, diags := grammar.ParseMeasure(text)
		if def == nil {
			return r, nil, optionMisread("measure", text, diags...)
		}
		if bad := readMeasure(d, def, given); bad != nil {
			return r, nil, optionMisread("measure", text, *bad)
		}
	}
	for key, x := range given {
		r.Measures[key] = x
	}
	return r, sources, nil
}

// readCard reads a body card into measures and returns the name of the wearer: the card's heading, or the file's name.
func readCard(s *source, d *dsl.Draft, into map[string]*big.Rat) (wearer string, err error) {
	f, diags := grammar.Parse(s.name, s.text)
	m := &misread{file: f, diags: diags}
	if diags.Has(grammar.Error) {
		return "", m
	}
	var block *grammar.Block
	for _, b := range f.Blocks {
		switch {
		case b.Kind != grammar.BodyBlock:
		case block != nil:
			m.diags = append(m.diags, grammar.Diagnostic{Severity: grammar.Error, Span: b.Span, Summary: "a second body block",
				Related: []grammar.Related{{Span: block.Span, Text: "the first one is here"}}, WayOut: "give each wearer a card of their own"})
		default:
			block = b
		}
	}
	if block == nil {
		m.diags = append(m.diags, grammar.Diagnostic{Severity: grammar.Error, Summary: "this file has no body block",
			WayOut: "put the measurements in a fenced block marked body, one a line: `chest = 93 cm`"})
	} else {
		for _, def := range block.Measures {
			if bad := readMeasure(d, def, into); bad != nil {
				m.diags = append(m.diags, *bad)
			}
		}
	}
	if m.diags.Has(grammar.Error) {
		return "", m
	}
	if len(f.Headings) > 0 && strings.TrimSpace(f.Headings[0].Text) != "" {
		return strings.TrimSpace(f.Headings[0].Text), nil
	}
	if s.path == "-" {
		return "", nil
	}
	return strings.TrimSuffix(filepath.Base(s.path), filepath.Ext(s.path)), nil
}

// readMeasure enters one measurement of a wearer, in centimetres where it is a length.
func readMeasure(d *dsl.Draft, def *grammar.MeasureDef, into map[string]*big.Rat) *grammar.Diagnostic {
	bad := func(at grammar.Span, try, format string, args ...any) *grammar.Diagnostic {
		b := wrong(at, try, format, args...)
		return &b
	}
	var names []string
	var measure *dsl.Measure
	for i := range d.Measures {
		names = append(names, d.Measures[i].Name.Text)
		if d.Measures[i].Name.Key == def.Name.Key {
			measure = &d.Measures[i]
		}
	}
	if measure == nil {
		return bad(def.Name.Span, knownNames(def.Name.Key, "measures", names), "the draft has no measure called %s", def.Name.Text)
	}
	if _, twice := into[def.Name.Key]; twice {
		return bad(def.Name.Span, "give it once", "%s is measured twice", def.Name.Text)
	}
	if at, ok := onlyFigures(def.Expr); !ok {
		return bad(at, "write one number with its unit: `chest = 93 cm`", "a wearer's measure is one figure of its own")
	}
	form, err := d.Eval(def.Expr, d.DraftedSize(0), d.DraftedGauges())
	if err != nil {
		return bad(def.Expr.ExprSpan(), "", "%s", err)
	}
	if form.Kind != measure.Kind {
		way := "give it as the draft does"
		if measure.Kind == dsl.Length && form.Kind == dsl.Plain {
			way = "write its unit: `chest = 93 cm`"
		}
		return bad(def.Expr.ExprSpan(), way, "%s is %s in the draft, and this is %s", def.Name.Text, measure.Kind, form.Kind)
	}
	into[def.Name.Key] = form.Const
	return nil
}

// knownNames is the way out for a name that the draft does not have: what may have been meant, and what there is.
func knownNames(name, what string, names []string) string {
	if len(names) == 0 {
		return "leave it out: the draft has no " + what
	}
	there := "its " + what + " are " + andList(names)
	if len(names) == 1 {
		there = "the only one is " + names[0]
	}
	if near := grammar.Nearest(name, names); near != "" {
		return "did you mean " + near + "? " + strings.ToUpper(there[:1]) + there[1:]
	}
	return there
}

// onlyFigures says whether an expression is made of single figures: no names, no figures for several sizes.
func onlyFigures(e grammar.Expr) (grammar.Span, bool) {
	switch e := e.(type) {
	case *grammar.Lit:
		return e.Value.Span, len(e.Value.Nums) == 1
	case *grammar.Neg:
		return onlyFigures(e.X)
	case *grammar.Binary:
		if at, ok := onlyFigures(e.L); !ok {
			return at, false
		}
		return onlyFigures(e.R)
	}
	return e.ExprSpan(), false
}

// readPin reads `back = 98` or, one for each size of the result, `back = 98 (106, 114)`.
func readPin(text string) (rewrite.Pin, error) {
	name, value, diags := grammar.ParsePin(text)
	if value == nil {
		return rewrite.Pin{}, optionMisread("pin", text, diags...)
	}
	pin := rewrite.Pin{Name: name}
	for _, n := range value.Nums {
		if n.Val.Cmp(big.NewRat(dsl.MaxCount, 1)) > 0 {
			return pin, optionMisread("pin", text, wrong(n.Span, fmt.Sprintf("counts go up to %d", dsl.MaxCount), "%s is no count that can be knitted", n.Text))
		}
		pin.Value = append(pin.Value, n.Val.Num().Int64())
	}
	return pin, nil
}
