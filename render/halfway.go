package render

import (
	"bytes"
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// knittedAlready heads what becomes of work that is on the needles.
const knittedAlready = "What is knitted already"

// mostMadeUp is how many instructions are told that make up for what is knitted; the list of changes has all of them.
const mostMadeUp = 6

// HalfWay is, in sentences, what becomes of work that is on the needles: what it measures, what can no longer be reached, what
// the rest makes up for, and how far to rip back. There are none where nothing was said to be knitted.
func HalfWay(c *rewrite.Conversion, o Options) []string {
	h := c.HalfWay
	if h == nil {
		return nil
	}
	var out []string
	for t := range h.Sizes {
		in := ""
		if len(h.Sizes) > 1 {
			in = "Size " + c.Targets[t].Name + ": "
		}
		for _, s := range reached(c, h, &h.Sizes[t], o) {
			out = append(out, in+s)
		}
	}
	begun := map[string]bool{}
	for t := range h.Sizes {
		for _, x := range h.Sizes[t].Done {
			begun[x.Piece] = true
		}
	}
	var said []string
	for _, m := range h.MadeUp {
		if len(said) < mostMadeUp && begun[m.Piece] {
			said = append(said, fmt.Sprintf("“%s” where a fresh beginning would have “%s”", m.Text, m.Afresh))
		}
	}
	if n := len(h.MadeUp) - len(said); len(said) > 0 && n > 0 {
		said = append(said, counted(n, "more instruction")+" later on")
	}
	if len(said) > 0 {
		out = append(out, "The rest makes up for what it can: "+strings.Join(said, "; ")+".")
	}
	return out
}

// reached is what is told of one size.
func reached(c *rewrite.Conversion, h *rewrite.HalfWay, r *rewrite.Reach, o Options) []string {
	var out []string
	if len(r.Done) > 0 {
		out = append(out, "Up to "+h.Label+" it measures: "+takens(r.Done, o)+".")
	} else {
		out = append(out, "What is knitted up to "+h.Label+" has no measure that the draft speaks of.")
	}
	if len(r.Misses) == 0 {
		return append(out, "The measurements can still be reached: nothing will miss by more than 2 cm in 100, or a centimetre, that would not if it were begun afresh.")
	}
	out = append(out, "Knitted on from here, it will miss: "+takens(r.Misses, o)+".")
	for i := range r.Back {
		// The nearest ones, and what mends everything.
		if i < mostPlaces-1 || i == len(r.Back)-1 {
			out = append(out, ripBack(&r.Back[i], o))
		}
	}
	if r.GaveUp {
		out = append(out, "There may be better places to go back to: not all of them could be tried.")
	}
	return out
}

// mostPlaces is how many places to go back to are told.
const mostPlaces = 3

func ripBack(b *rewrite.RipBack, o Options) string {
	place := "to “" + b.Says + "”"
	in := ""
	if b.Piece != "" {
		in = "In " + b.Piece + ": "
	}
	rows := counted(int(b.Undo), "row")
	var how string
	switch {
	case b.Begin:
		how = in + "beginning again with “" + b.Says + "” undoes " + rows
	case b.Undo == 0 && b.More > 0:
		how = in + "going back " + place + " undoes nothing: work " + counted(int(b.More), "row") + " more there. That"
	case b.Undo == 0:
		how = in + "going back " + place + " undoes no row"
	default:
		how = in + "ripping back " + place + " undoes " + rows
	}
	if b.More == 0 || b.Undo > 0 {
		how += " and"
	}
	how += " gives " + takens(b.Mends, o)
	if len(b.Left) > 0 {
		how += "; still missed: " + names(b.Left)
	}
	return strings.ToUpper(how[:1]) + how[1:] + "."
}

// names are the names of measures, each once.
func names(list []rewrite.Taken) string {
	var out []string
	for _, x := range list {
		if !slices.Contains(out, x.Name) {
			out = append(out, x.Name)
		}
	}
	return strings.Join(out, ", ")
}

// takens are measures taken: `back width 53 cm, wanted 49 cm (+4 cm)`.
func takens(list []rewrite.Taken, o Options) string {
	pieces := map[string]bool{}
	for _, x := range list {
		pieces[x.Piece] = true
	}
	var out []string
	for _, x := range list {
		u, _ := o.shown(x.Unit)
		if u == grammar.Millimetres {
			u = grammar.Centimetres
		}
		name := x.Name
		if len(pieces) > 1 && !strings.HasSuffix(name, x.Piece) {
			name = x.Piece + ", " + name
		}
		s := name + " " + rewrite.Tenths(x.Gets, u)
		if off := signedTenths(x.Got, u); off != "" {
			s += fmt.Sprintf(", wanted %s (%s)", rewrite.Tenths(x.Wanted, u), off)
		} else {
			s += ", as wanted"
		}
		out = append(out, s)
	}
	return strings.Join(out, "; ")
}

// shownMiss is a miss as it reads: the difference of the two lengths as they are shown, to a tenth of the unit.
func shownMiss(g rewrite.Got, u grammar.Unit) *big.Rat {
	per := big.NewRat(1, 1)
	if u == grammar.Inches {
		per = inch
	}
	read := func(cm *big.Rat) *big.Rat { return dsl.RoundTo(new(big.Rat).Quo(cm, per), big.NewRat(1, 10)) }
	return new(big.Rat).Sub(read(g.Gets), read(g.Wanted))
}

// signedTenths is a miss with its sign and unit; "" where it reads as none.
func signedTenths(g rewrite.Got, u grammar.Unit) string {
	x := shownMiss(g, u)
	switch x.Sign() {
	case 0:
		return ""
	case 1:
		return "+" + decimals(x, 1) + " " + unitName(u)
	}
	return "−" + decimals(x.Neg(x), 1) + " " + unitName(u)
}

// writeHalfWay puts what is knitted already into a copy to knit from.
func writeHalfWay(b *bytes.Buffer, c *rewrite.Conversion, o Options, eol string) {
	said := HalfWay(c, o)
	if len(said) == 0 {
		return
	}
	b.WriteString(eol + "## " + knittedAlready + eol + eol)
	for _, s := range said {
		b.WriteString("- " + escapeMarkdown(s) + eol)
	}
}

func halfWaySection(m *markup, c *rewrite.Conversion, o Options) {
	said := HalfWay(c, o)
	if len(said) == 0 {
		return
	}
	m.raw("<section class=\"notes\" aria-labelledby=\"the.knitted\">\n<h2 id=\"the.knitted\">", knittedAlready, "</h2>\n<ul>\n")
	for _, s := range said {
		m.raw("<li>")
		m.text(s)
		m.raw("</li>\n")
	}
	m.raw("</ul>\n</section>\n")
}

// halfWay writes what is knitted already as a field of the data.
func (j *jsonWriter) halfWay(c *rewrite.Conversion) {
	h := c.HalfWay
	f := c.Draft.File
	place := func(mark int, piece string) {
		line, column := f.Position(f.Marks[mark].Span.Start)
		j.raw(`{"line":` + strconv.Itoa(line) + `,"column":` + strconv.Itoa(column) + `,"piece":`)
		j.text(piece)
	}
	takens := func(list []rewrite.Taken) {
		j.raw("[")
		for i, x := range list {
			j.comma(i)
			place(x.Mark, x.Piece)
			j.raw(`,"name":`)
			j.text(x.Name)
			j.raw(`,"wanted_cm":`)
			j.decimal(x.Wanted)
			j.raw(`,"measures_cm":`)
			j.decimal(x.Gets)
			j.raw("}")
		}
		j.raw("]")
	}
	j.raw(",\n  \"half_way\": {\"knitted\":")
	j.text(h.Label)
	j.raw(",\"made_up\":[")
	for i, m := range h.MadeUp {
		j.item(i)
		place(m.Mark, m.Piece)
		j.raw(`,"now":`)
		j.text(m.Text)
		j.raw(`,"afresh":`)
		j.text(m.Afresh)
		j.raw("}")
	}
	j.items(len(h.MadeUp))
	j.raw(",\"sizes\":[")
	for t := range h.Sizes {
		r := &h.Sizes[t]
		j.item(t)
		j.raw(`{"size":`)
		j.text(c.Targets[t].Name)
		j.raw(`,"reaches":`)
		j.yes(len(r.Misses) == 0)
		j.raw(`,"done":`)
		takens(r.Done)
		j.raw(`,"misses":`)
		takens(r.Misses)
		j.raw(`,"rip_back":[`)
		for i := range r.Back {
			b := &r.Back[i]
			j.comma(i)
			place(b.Mark, b.Piece)
			j.raw(`,"undo_rows":` + strconv.FormatInt(b.Undo, 10) + `,"more_rows":` + strconv.FormatInt(b.More, 10) + `,"brings":`)
			takens(b.Mends)
			j.raw(`,"still_misses":`)
			takens(b.Left)
			j.raw("}")
		}
		j.raw("]}")
	}
	j.items(len(h.Sizes))
	j.raw("}")
}
