// Package render is the VIEW: it draws every output from one rewrite.Conversion and changes nothing. All of it is pure
// functions that give the same bytes for the same conversion.
package render

import (
	"path"
	"strings"

	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// Options are what a reader may ask of a copy or a page. The zero value asks for the draft's own ways.
type Options struct {
	Units      string // "" the draft's own, "cm", "in" or "both": lengths for the reader; counts are the same in any
	UnsafeHTML bool   // raw HTML of the draft is passed through to a page; without it, it is shown as text
	Size       string // the one size a copy is made for, named under its title; "" says nothing
	Index      string // the address of the index that a page leads back to; "" for none
}

// before heads what a maker should know first: assumptions, warnings, cautions.
const before = "Before you cast on"

// lines are the lines of src with their line ends; the last may have none. An empty src has no lines.
func lines(src string) []string {
	out := make([]string, 0, strings.Count(src, "\n")+1)
	for len(src) > 0 {
		i := strings.IndexByte(src, '\n') + 1
		if i == 0 {
			i = len(src)
		}
		out = append(out, src[:i])
		src = src[i:]
	}
	return out
}

// notes are what a maker should know before casting on, gravest first.
func notes(c *rewrite.Conversion) (cautions, assumptions, warnings []string) {
	return c.Cautions, c.Assumptions, c.Warnings
}

func hasNotes(c *rewrite.Conversion, o Options) bool {
	return len(c.Cautions)+len(c.Assumptions)+len(c.Warnings)+len(yarnLines(c, o)) > 0
}

// sizeNames are the sizes of the result as they head a column.
func sizeNames(c *rewrite.Conversion) []string {
	out := make([]string, len(c.Targets))
	for i, t := range c.Targets {
		out[i] = t.Name
		if out[i] == "" {
			out[i] = "One size"
		}
	}
	return out
}

// title is the text of the draft's first heading of the first rank, or its file name without the ending.
func title(f *grammar.File) string {
	for _, h := range f.Headings {
		if h.Level == 1 && h.Text != "" {
			return h.Text
		}
	}
	base := baseName(f.Name)
	base = strings.TrimSuffix(base, path.Ext(base))
	if base == "" || base == "." || base == "-" || base == "/" {
		return "Pattern"
	}
	return base
}

// baseName is the last part of a path of any system; the empty name has none.
func baseName(name string) string {
	if name == "" {
		return ""
	}
	return path.Base(strings.ReplaceAll(name, `\`, "/"))
}
