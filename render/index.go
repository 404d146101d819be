package render

import (
	_ "embed"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gaugewright/grammar"
	"gaugewright/rewrite"
)

//go:embed index.css
var indexCSS string

//go:embed cards.css
var cardsCSS string

var (
	indexStyles = strings.ReplaceAll(indexCSS, "\n", "")
	cardStyles  = strings.ReplaceAll(cardsCSS, "\n", "")
)

// Index is the page of a publication from which a gauge and a size are chosen, as one self-contained HTML document: what each
// gives of the measure that sizes are chosen by, by how much it misses, and where the pattern does not work and why.
// Its links lead to the pages beside it, from a folder as well as from a server.
func (p *Publication) Index() []byte {
	x := indexPage{p: p}
	m := &x.markup
	name := title(p.drafted.Draft.File)
	openPage(m, name+": gauges and sizes", p.gridStyles(p.lengthColumn()), "To the gauges")
	m.raw("<h1>")
	m.text(name)
	m.raw("</h1>\n<p class=\"made\">", counted(len(p.editions), "gauge"))
	if n := len(x.p.sizes); n > 1 {
		m.raw(", ", counted(n, "size"))
	}
	m.raw(". Drafted at ")
	m.text(gaugeText(p.drafted.Gauges[0], false))
	m.raw(".")
	if !p.made.IsZero() {
		m.raw(" Made on <time datetime=\"", p.made.UTC().Format("2006-01-02"), "\">", p.made.UTC().Format("2 January 2006"), "</time>.")
	}
	m.raw("</p>\n</header>\n<main id=\"the.pattern\">\n")
	x.choose()
	x.failures()
	beside := []string{"<a href=\"problems.json\">a feed of what does not work</a>, for programs"}
	if len(p.counts()) > 0 {
		beside = slices.Insert(beside, 0, "<a href=\"counts.html\">the key counts at every gauge</a>")
	}
	if x.lead() != "" {
		beside = slices.Insert(beside, 0, "<a href=\"measures.html\">every measure at every gauge</a>")
	}
	m.raw("<p class=\"legend foot\">Beside this page: ", strings.Join(beside, "; "), ".</p>\n")
	closePage(m)
	return m.Bytes()
}

// gridStyles is the style sheet of the pages that lie about the patterns. Where the columns of all sizes have no room, each row of a
// table is a card: its values stand below one another's sizes and nothing moves sideways.
// column is the width of a value in rem.
func (p *Publication) gridStyles(column float64) string {
	rem := func(x float64) string { return strconv.FormatFloat(x, 'f', 1, 64) + "rem" }
	room := 12 + column*float64(len(p.sizes))
	var b strings.Builder
	b.WriteString(indexStyles)
	b.WriteString(".sheet{max-width:" + rem(max(64, room+2.25)) + "}.counts{grid-template-columns:repeat(auto-fill,minmax(min(100%," + rem(room) + "),1fr))}")
	b.WriteString("@media screen and (max-width:" + rem(room+2.25) + "){" + cardStyles)
	b.WriteString(".grid tr{grid-template-columns:repeat(auto-fill,minmax(" + rem(max(4, column-1)) + ",1fr))}")
	for i, size := range p.sizes {
		if len(p.sizes) > 1 {
			b.WriteString(".grid:not(.offers) td:nth-of-type(" + strconv.Itoa(i+1) + ")::before{content:" + quotedCSS(size) + "}")
		}
	}
	b.WriteString("}")
	return b.String()
}

// lengthColumn is the width of a length and by how much it misses, in rem; countColumn that of a count.
func (p *Publication) lengthColumn() float64 {
	if p.o.Units == "both" {
		return 10
	}
	return 6.5
}

const countColumn = 3

// quotedCSS is words as a string of a style sheet.
func quotedCSS(words string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range words {
		if r == ' ' || unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		} else {
			b.WriteString("\\" + strconv.FormatInt(int64(r), 16) + " ")
		}
	}
	b.WriteByte('"')
	return b.String()
}

// indexPage is an index being written.
type indexPage struct {
	markup
	p    *Publication
	bold bool // something is off by more than counts as close
}

// choose writes the table of gauges and sizes, with the measure that sizes are chosen by.
func (x *indexPage) choose() {
	m := &x.markup
	heading, then := "Choose your gauge, then your size", "Then take your size. "
	if len(x.p.sizes) == 1 {
		heading, then = "Choose your gauge", ""
	}
	m.raw("<section aria-labelledby=\"the.choice\">\n<h2 id=\"the.choice\">", heading, "</h2>\n"+
		"<p>Knit a swatch, wash and dry it as you will the garment, and count. Take the gauge that is nearest in stitches, and among those the nearest in rows.</p>\n")
	lead := x.lead()
	if lead != "" {
		m.raw("<p>", then, "The figure is ")
		if d := x.p.drafted.Draft; d.SizedBy >= 0 && lead == d.Measures[d.SizedBy].Name.Text {
			m.raw("the ")
			m.text(lead)
			m.raw(" that it fits at that gauge")
		} else {
			m.text("the " + lead)
			m.raw(" at that gauge")
		}
		m.raw("; beside it stands how far that is from what is wanted.</p>\n")
	}
	m.raw(tableFrame(wide), `<table class="grid offers">`, "\n<thead><tr><th scope=\"col\">Gauge</th>")
	for s, size := range x.p.sizes {
		m.raw("<th scope=\"col\">")
		m.text(size)
		if g := x.leading(x.p.own(), s); g != nil {
			m.raw("<span class=\"wanted\">")
			m.text(lead + " " + strings.ReplaceAll(x.p.length(g.Wanted, g.Unit, true), ".0 ", " "))
			m.raw("</span>")
		}
		m.raw("</th>")
	}
	m.raw("</tr></thead>\n<tbody>\n")
	for i := range x.p.editions {
		x.choice(&x.p.editions[i])
	}
	m.raw("</tbody></table></div>\n")
	x.legend()
	m.raw("</section>\n")
}

// choice writes the row of one gauge.
func (x *indexPage) choice(e *edition) {
	m := &x.markup
	x.row(e)
	if !e.works() {
		m.text(e.label)
	} else {
		m.raw("<a href=\"")
		m.text(e.address("pattern.html", ""))
		m.raw("\">")
		m.text(e.label)
		m.raw("</a>")
	}
	aside := func(parts ...string) {
		m.raw("<span class=\"aside\">")
		m.raw(parts...)
		m.raw("</span>")
	}
	if x.p.isOwn(e) {
		aside("as drafted")
	}
	if e.more != "" {
		aside(escape(e.more))
	}
	if e.works() {
		of := "<span class=\"sr\"> of " + escape(e.label) + "</span></a>"
		links := []string{"<a href=\"", escape(e.address("pattern.md", "")), "\">plain text", of}
		if x.lead() != "" {
			links = append(links, " <a href=\"measures.html#at.", escape(e.key), "\">all measures", of)
		}
		aside(links...)
	}
	m.raw("</th>")
	for s, size := range x.p.sizes {
		if e.target[s] < 0 {
			m.raw("<td class=\"not\"><a href=\"#not.", escape(e.key), "\"><span class=\"of\">size ", escape(size), " </span>does not work</a></td>")
			continue
		}
		m.raw("<td><a href=\"")
		m.text(e.address("pattern.html", e.anchor(s)))
		m.raw("\">")
		g := x.leading(e, s)
		if g == nil {
			m.text(size)
			m.raw("</a></td>")
			continue
		}
		m.raw("<span class=\"of\">size ")
		m.text(size)
		m.raw(" </span>")
		m.text(x.p.length(g.Gets, g.Unit, true))
		m.raw("</a> ")
		x.off(g)
		m.raw("</td>")
	}
	m.raw("</tr>\n")
}

// row begins a row of a table, up to the words of its heading.
func (x *indexPage) row(e *edition) {
	if x.p.isOwn(e) {
		x.raw(`<tr class="drafted"><th scope="row">`)
		return
	}
	x.raw(`<tr><th scope="row">`)
}

// lead is the name of the measure that sizes are chosen by, or else of the first that a size gives; "" where there is none.
func (x *indexPage) lead() string {
	if g := x.leading(x.p.own(), 0); g != nil {
		return g.name
	}
	return ""
}

// leading is what a size of an edition gives of that measure.
func (x *indexPage) leading(e *edition, size int) *measure {
	d, gives := x.p.drafted.Draft, e.gives[size]
	if d.SizedBy >= 0 {
		for i := range gives {
			if grammar.Key(gives[i].Name) == d.Measures[d.SizedBy].Name.Key {
				return &gives[i]
			}
		}
	}
	if len(gives) > 0 {
		return &gives[0]
	}
	return nil
}

// off writes how far a measure misses.
func (x *indexPage) off(g *measure) {
	if g.far() {
		x.bold = true
		x.raw("<i class=\"far\">", g.off, "<span class=\"sr\"> far off</span></i>")
		return
	}
	x.raw("<i>", g.off, "</i>")
}

// legend explains what was set in bold since the last one, where something was.
func (x *indexPage) legend() {
	if x.bold {
		x.raw("<p class=\"key\">In bold: off by more than 2 in 100, and by more than a centimetre (0.4 in).</p>\n")
	}
	x.bold = false
}

// failures writes where the pattern does not work, and why.
func (x *indexPage) failures() {
	m := &x.markup
	f := x.p.drafted.Draft.File
	headed := false
	for i := range x.p.editions {
		e := &x.p.editions[i]
		if len(e.Failures) == 0 {
			continue
		}
		if !headed {
			m.raw("<section aria-labelledby=\"the.failures\">\n<h2 id=\"the.failures\">Where it does not work</h2>\n")
			headed = true
		}
		m.raw("<div class=\"fails\" id=\"not.", escape(e.key), "\">\n")
		for k := range e.Failures {
			x.failure(f, e.label, &e.Failures[k])
		}
		m.raw("</div>\n")
	}
	if headed {
		m.raw("</section>\n")
	}
}

func (x *indexPage) failure(f *grammar.File, label string, why *rewrite.Failure) {
	m := &x.markup
	m.raw("<h3>")
	m.text(atGauge(label, why.Size))
	m.raw("</h3>\n<p>")
	note(m, asSentence(why.Summary, len(why.Related) > 0))
	m.raw("</p>\n")
	if len(why.Related) > 0 {
		m.raw("<ul>\n")
		for _, r := range why.Related {
			m.raw("<li>")
			note(m, relatedText(f, r))
			m.raw("</li>\n")
		}
		m.raw("</ul>\n")
	}
}

// MeasuresPage is the page of what each gauge gives in every measure: a table for each gauge, a row a measure and a column a size. Each
// is folded away; a link to one opens it. It is nil where the draft gives none.
func (p *Publication) MeasuresPage() []byte {
	x := indexPage{p: p}
	if x.lead() == "" {
		return nil
	}
	m := &x.markup
	name := title(p.drafted.Draft.File)
	openPage(m, name+": measures", p.gridStyles(p.lengthColumn()), "To the measures")
	m.raw("<h1>Measures of ")
	m.text(name)
	m.raw("</h1>\n<p class=\"made\">Widths and lengths as they come out at each gauge, and how far each is from what is wanted. Back to <a href=\"index.html\">the gauges and sizes</a>.</p>\n")
	unit := p.oneUnit()
	if unit != "" {
		m.raw("<p class=\"made\">All in ", unitWords(unit), ".</p>\n")
	}
	m.raw("</header>\n<main id=\"the.pattern\">\n")
	for i := range p.editions {
		if e := &p.editions[i]; e.works() {
			x.gives(e, unit)
		}
	}
	x.legend()
	closePage(m)
	return m.Bytes()
}

// oneUnit is the unit that every measure is told in, "" where they differ.
func (p *Publication) oneUnit() string {
	unit := ""
	for i := range p.editions {
		for _, g := range p.editions[i].measures() {
			if u := p.unitOf(g.Unit); unit == "" {
				unit = u
			} else if u != unit {
				return ""
			}
		}
	}
	return unit
}

// unitWords is the unit of a page in full.
func unitWords(unit string) string {
	switch unit {
	case "cm":
		return "centimetres"
	case "in":
		return "inches"
	case "mm":
		return "millimetres"
	}
	return unit
}

// gives writes the measures of one gauge.
func (x *indexPage) gives(e *edition, unit string) {
	m := &x.markup
	m.raw("<details><summary>")
	m.text(e.label)
	m.raw(" <span class=\"aside\">")
	if x.p.isOwn(e) {
		m.raw("as drafted; ")
	}
	m.text(x.furthest(e))
	m.raw("</span></summary>\n<div class=\"gets\" id=\"at.", escape(e.key), "\">\n<p><a href=\"", escape(e.address("pattern.html", "")), "\">The pattern at this gauge</a></p>\n",
		tableFrame(wide), "<table class=\"grid\">\n<thead><tr><th scope=\"col\">Measure</th>")
	for _, t := range x.p.sizes {
		m.raw("<th scope=\"col\">")
		m.text(t)
		m.raw("</th>")
	}
	m.raw("</tr></thead>\n<tbody>\n")
	for _, g := range e.measures() {
		m.raw("<tr><th scope=\"row\">")
		m.text(g.name)
		if unit == "" {
			m.raw(" <span class=\"unit\">(", x.p.unitOf(g.Unit), ")</span>")
		}
		m.raw("</th>")
		for s := range e.gives {
			m.raw("<td>")
			if g := e.got(s, g.Name); g != nil {
				m.text(x.p.length(g.Gets, g.Unit, false))
				m.raw(" ")
				x.off(g)
			} else {
				nothing(m)
			}
			m.raw("</td>")
		}
		m.raw("</tr>\n")
	}
	m.raw("</tbody></table></div>\n</div></details>\n")
}

// measures are those that any size gives, each from the first that does.
func (e *edition) measures() []*measure {
	var out []*measure
	seen := map[string]bool{}
	for _, gives := range e.gives {
		for i := range gives {
			if g := &gives[i]; !seen[g.Name] {
				seen[g.Name] = true
				out = append(out, g)
			}
		}
	}
	return out
}

// nothing is what stands in the cell of a size that does not work.
func nothing(m *markup) {
	m.raw("<span class=\"sr\">nothing</span><span aria-hidden=\"true\">–</span>")
}

// furthest is the largest miss of an edition, measured by what is allowed.
func (x *indexPage) furthest(e *edition) string {
	var most *big.Rat
	said := "nothing is off"
	for s, gives := range e.gives {
		for i := range gives {
			g := &gives[i]
			if g.off == "0" || most != nil && g.share.Cmp(most) <= 0 {
				continue
			}
			most, said = g.share, "furthest off: "+g.name
			if len(x.p.sizes) > 1 {
				said += ", " + x.p.sizes[s]
			}
			first, _ := x.p.o.shown(g.Unit)
			said += ", " + g.off + " " + unitName(first)
		}
	}
	return said
}

// CountsPage is the page of the counts that the author named: a table for each, a row a gauge and a column a size. It is nil where
// the draft names none.
func (p *Publication) CountsPage() []byte {
	counts := p.counts()
	if len(counts) == 0 {
		return nil
	}
	x := indexPage{p: p}
	m := &x.markup
	name := title(p.drafted.Draft.File)
	openPage(m, name+": key counts", p.gridStyles(countColumn), "To the counts")
	m.raw("<h1>Key counts of ")
	m.text(name)
	m.raw("</h1>\n<p class=\"made\">The counts that the draft names, at every gauge and in every size. The same <a href=\"counts.csv\">for a spreadsheet</a>; back to <a href=\"index.html\">the gauges and sizes</a>.</p>\n</header>\n" +
		"<main id=\"the.pattern\" class=\"counts\">\n")
	for i := range counts {
		x.count(&counts[i], i)
	}
	closePage(m)
	return m.Bytes()
}

// count writes the table of one count.
func (x *indexPage) count(c *count, nth int) {
	m := &x.markup
	id := "count." + strconv.Itoa(nth+1)
	m.raw("<section aria-labelledby=\"", id, "\">\n<h2 id=\"", id, "\">")
	m.text(c.name)
	m.raw(" <span class=\"aside\">")
	m.text(strings.TrimSuffix(c.kind+", "+c.piece, ", "))
	m.raw("</span></h2>\n", tableFrame(wide), "<table class=\"grid\">\n<thead><tr><th scope=\"col\">Gauge</th>")
	for _, s := range x.p.sizes {
		m.raw("<th scope=\"col\">")
		m.text(s)
		m.raw("</th>")
	}
	m.raw("</tr></thead>\n<tbody>\n")
	for k := range x.p.editions {
		e := &x.p.editions[k]
		x.row(e)
		m.text(e.label)
		if x.p.isOwn(e) {
			m.raw("<span class=\"sr\">, as drafted</span>")
		}
		m.raw("</th>")
		for _, v := range c.at[k] {
			m.raw("<td>")
			if v != nil {
				m.raw(decimal(v))
			} else {
				nothing(m)
			}
			m.raw("</td>")
		}
		m.raw("</tr>\n")
	}
	m.raw("</tbody></table></div>\n</section>\n")
}
