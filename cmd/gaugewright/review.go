package main

import (
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/term"

	"gaugewright/render"
	"gaugewright/rewrite"
)

// review tells what changed between two versions of a draft.
func review(p *program, args []string) (int, error) {
	o := newOptions()
	o.text(&o.to, "to", "text", "markdown", "html", "json")
	o.text(&o.out, "out")
	o.text(&o.units, "units", "cm", "in", "both")
	o.set.BoolVar(&o.all, "all", false, "")
	rest, err := o.parse(args)
	switch {
	case err != nil:
	case len(rest) < 2:
		err = failuref("name the old version and the new one; one of them may be - for standard input", "which two drafts?")
	case len(rest) > 2:
		err = failuref("options with blanks in their values need quotation marks", "two versions at a time: what is %q?", rest[2])
	case rest[0] == "-" && rest[1] == "-":
		err = failuref("give one of them as a file", "both versions cannot be standard input")
	default:
		err = isFile(o.out, "name a file")
	}
	if err != nil {
		return refused, err
	}
	// What is wrong with the sums of a version is told, but it is there to be compared all the same.
	old, oldSource, oldDiags, err := p.anyDraft(rest[0])
	if err != nil {
		return refused, err
	}
	new, newSource, newDiags, err := p.anyDraft(rest[1])
	if err != nil {
		return refused, err
	}
	p.tell(old.File, oldDiags)
	p.tell(new.File, newDiags)
	r := rewrite.Review(old, new)
	text, err := p.reviewed(r, o)
	if err == nil {
		err = p.write(o.out, text, oldSource, newSource)
	}
	switch {
	case err != nil:
		return refused, err
	case r.Tally.Any():
		return found, nil
	}
	return done, nil
}

// reviewed draws a review in the form asked for; a file's ending says which where nothing else does.
func (p *program) reviewed(r *rewrite.Comparison, o *options) ([]byte, error) {
	form := o.to
	if form == "" {
		form = map[string]string{".html": "html", ".htm": "html", ".json": "json", ".md": "markdown"}[strings.ToLower(filepath.Ext(o.out))]
	}
	view := render.Options{Units: o.units}
	switch form {
	case "json":
		return render.ReviewJSON(r)
	case "html":
		return render.ReviewPage(r, view), nil
	case "markdown":
		return render.ReviewMarkdown(r, view, o.all), nil
	}
	t := render.Terminal{Width: 100, All: o.all}
	if f, ok := p.stdout.(*os.File); ok && (o.out == "" || o.out == "-") && onTerminal(f) {
		t.Colour = p.coloured
		if wide, _, err := term.GetSize(int(f.Fd())); err == nil && wide > 0 {
			t.Width = min(wide, 120)
		}
	}
	return render.ReviewText(r, view, t), nil
}
