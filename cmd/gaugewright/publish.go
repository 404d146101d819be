package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
	"gaugewright/rewrite"
)

func publish(p *program, args []string) (int, error) {
	o := newOptions()
	o.list(&o.gauges, "gauge")
	o.list(&o.swatches, "swatch")
	o.list(&o.tighter, "tighter")
	o.list(&o.sizes, "size")
	o.text(&o.out, "out")
	o.text(&o.units, "units", "cm", "in", "both")
	o.set.BoolVar(&o.rawHTML, "raw-html", false, "")
	rest, err := o.parse(args)
	if err != nil {
		return refused, err
	}
	path, more, err := oneDraft(rest)
	switch {
	case err != nil:
	case len(more) > 0:
		err = failuref("options with blanks in their values need quotation marks", "one draft at a time: what is %q?", more[0])
	case len(o.gauges)+len(o.swatches) == 0:
		err = failuref(`give --gauge "18 to 24 sts and 25 to 32 rows to 10 cm", or --swatch and a card; both may be repeated`, "at which gauges?")
	case o.out == "" || o.out == "-":
		err = failuref("name a new folder: --out shop/", "a publication is a folder")
	default:
		err = isNew(o.out)
	}
	if err != nil {
		return refused, err
	}
	made, err := p.dated()
	if err != nil {
		return refused, err
	}
	d, _, diags, err := p.draft(path)
	if err != nil {
		return refused, err
	}
	asked, err := p.offers(path, d, o)
	if err != nil {
		return refused, err
	}
	p.tell(d.File, diags)

	drafted, why := rewrite.Publish(d, "", rewrite.Request{Sizes: o.sizes})
	if drafted == nil || drafted.Conversion == nil {
		return refused, &misread{file: d.File, diags: why}
	}
	var others []*rewrite.Edition
	for _, a := range asked {
		e, why := rewrite.Publish(d, a.name, a.request)
		if e == nil {
			return refused, &misread{file: d.File, diags: why}
		}
		others = append(others, e)
	}
	all := render.Published(drafted, others, made, render.Options{Units: o.units, UnsafeHTML: o.rawHTML})
	files, err := all.Files()
	if err != nil {
		return refused, err
	}
	if err := newFolder(o.out, files); err != nil {
		return refused, err
	}
	p.tell(d.File, all.Failures())
	p.notes(d.File, all)
	if len(all.Failures()) > 0 {
		return found, nil
	}
	return done, nil
}

// offer is one of the gauges that were asked for.
type offer struct {
	name    string // from a card
	request rewrite.Request
	from    string // the option it is from, as it was given
	alone   bool   // the option asks for this one gauge only
}

// offers reads the gauges that a pattern is to be published at.
func (p *program) offers(path string, d *dsl.Draft, o *options) ([]offer, error) {
	var all []offer
	for _, text := range o.gauges {
		var err error
		if all, err = addGauge(all, text, d); err != nil {
			return nil, err
		}
	}
	for _, card := range o.swatches {
		if card == "-" && path == "-" {
			return nil, failuref("give one of them as a file", "the draft and a swatch card cannot both be standard input")
		}
		c, _, err := p.card(card)
		if err != nil {
			return nil, err
		}
		gauges, diags := rewrite.WithSwatches(d, c, nil)
		if diags.Has(grammar.Error) {
			return nil, &misread{file: c.File, diags: diags}
		}
		name := ""
		if card != "-" {
			name = strings.NewReplacer("-", " ", "_", " ").Replace(strings.TrimSuffix(filepath.Base(card), filepath.Ext(card)))
		}
		all = append(all, offer{name: name, request: rewrite.Request{Gauges: gauges}, from: "--swatch " + card, alone: true})
	}
	var tighter []rewrite.Tighter
	for _, text := range o.tighter {
		t, err := readTighter(text)
		if err != nil {
			return nil, err
		}
		tighter = append(tighter, t)
	}
	all, err := distinct(all)
	if err == nil && len(all) > rewrite.MaxEditions {
		err = failuref("publish fewer at once", "%d gauges are asked for, and at most %d are published at once", len(all), rewrite.MaxEditions)
	}
	for i := range all {
		all[i].request.Sizes, all[i].request.Tighter = o.sizes, tighter
	}
	return all, err
}

// addGauge adds what one --gauge asks for: a gauge, or each of a range, of the first fabric; or for the one gauge before it that of
// another fabric.
func addGauge(all []offer, text string, d *dsl.Draft) ([]offer, error) {
	fabric, r, err := grammar.ParseGaugeRange(text)
	if err != nil {
		return nil, gaugeMisread("gauge", text, err)
	}
	if err := knownFabric("gauge", text, fabric, d); err != nil {
		return nil, err
	}
	steps, err := rewrite.GaugeSteps(r)
	if err != nil {
		return nil, optionMisread("gauge", text, wrong(r.From.Span, "write it like `18 to 24 sts and 25 to 32 rows to 10 cm`", "%s", err))
	}
	if first := d.Fabrics[0].Name; fabric != "" && fabric != grammar.Key(first) {
		at := wrong(grammar.Span{End: strings.Index(text, ":")}, "", "")
		switch {
		case len(steps) > 1:
			at.Summary, at.WayOut = "a range is for the first fabric, "+first, "give the gauges one by one, each with that of "+fabric+" after it"
		case len(all) == 0:
			at.Summary, at.WayOut = "there is no gauge of "+first+" that this one of "+fabric+" goes with", "give that of "+first+" before it"
		case !all[len(all)-1].alone:
			at.Summary, at.WayOut = "one gauge of "+fabric+" cannot go with a whole range", "give the gauges one by one, each with that of "+fabric+" after it"
		}
		if at.Summary != "" {
			return nil, optionMisread("gauge", text, at)
		}
		steps[0].Fabric = fabric
		last := &all[len(all)-1]
		last.request.Gauges = append(last.request.Gauges, steps[0])
		last.from += " --gauge " + strconv.Quote(text)
		return all, nil
	}
	for _, g := range steps {
		all = append(all, offer{request: rewrite.Request{Gauges: []rewrite.AskedGauge{g}}, from: "--gauge " + strconv.Quote(text), alone: len(steps) == 1})
	}
	return all, nil
}

// distinct refuses a gauge that is asked for twice by itself: one of them was meant to be another. One that is also a step of a
// range is taken once.
func distinct(all []offer) ([]offer, error) {
	var out []offer
	at := map[string]int{}
	for _, x := range all {
		key := ""
		for _, g := range x.request.Gauges {
			key += fmt.Sprintf("%s: %v %v;", g.Fabric, g.Gauge.Stitches, g.Gauge.Rows)
		}
		i, again := at[key]
		switch {
		case !again:
			at[key] = len(out)
			out = append(out, x)
		case x.alone && out[i].alone:
			return nil, failuref("leave one of them out, or mend it", "%s asks for the same gauge as %s", x.from, out[i].from)
		case x.alone:
			out[i] = x
		}
	}
	return out, nil
}

// dated is the day that a publication is dated with: SOURCE_DATE_EPOCH, in seconds since 1970, as other programs that make the same
// bytes again take it (https://reproducible-builds.org/specs/source-date-epoch/); without it, none.
func (p *program) dated() (time.Time, error) {
	said := p.env("SOURCE_DATE_EPOCH")
	if said == "" {
		return time.Time{}, nil
	}
	seconds, err := strconv.ParseInt(said, 10, 64)
	if err != nil || seconds < 0 || seconds > 253402300799 { // the end of the year 9999
		return time.Time{}, failuref("give a whole number of seconds since 1970, or leave it out", "SOURCE_DATE_EPOCH is %q", said)
	}
	return time.Unix(seconds, 0), nil
}

// notes tells what a person should look at, each once, with the gauges it is about.
func (p *program) notes(f *grammar.File, all *render.Publication) {
	for _, n := range all.Notes() {
		fmt.Fprintf(p.stderr, "%s: warning: %s\n", f.Name, n)
	}
}

// isNew refuses a folder that has something in it: pages of gauges that are no longer offered would stay.
func isNew(folder string) error {
	folder = filepath.Clean(folder)
	info, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return failuref("", "%s: %s", folder, plain(err))
	case !info.IsDir():
		return failuref("name a new folder", "%s is a file, not a folder", folder)
	}
	if there, err := os.ReadDir(folder); err != nil {
		return failuref("", "%s: %s", folder, plain(err))
	} else if len(there) > 0 {
		return failuref("name a new folder, or take this one away first", "%s is there already, and pages of other gauges would stay in it", folder)
	}
	return nil
}
