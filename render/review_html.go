package render

import (
	_ "embed"
	"strings"

	"gaugewright/rewrite"
)

//go:embed review.css
var reviewCSS string

var reviewStyles = strings.ReplaceAll(reviewCSS, "\n", "")

// ReviewPage is what changed between two versions of a draft, or what a conversion changed in one, as one self-contained HTML
// document: what the garment comes to first, then heading by heading and number by number, old and new, the size it should give
// and the size it gives, and why. What stayed is folded away; where a sentence changed, it is shown word by word.
func ReviewPage(r *rewrite.Comparison, o Options) []byte {
	a := accountOf(r, o)
	var p reviewPage
	m := &p.markup
	pieces := platesOfReview(r, o)
	var drawn [][]byte
	if r.Conversion != nil {
		drawn = piecesBySize(r.Conversion, o)
	} else {
		drawn = pieces.drawn()
	}
	m.Grow(len(styles) + len(reviewStyles) + 8192 + 768*r.Tally.Numbers + bytesOf(drawn))
	openPage(m, printable(a.title), reviewStyles+schematicStyles, "To the changes")
	p.raw("<h1>")
	p.text(a.title)
	p.raw("</h1>\n")
	for _, l := range a.lead {
		if l != "" {
			p.paragraph("made", l)
		}
	}
	m.raw("</header>\n")
	if r.Conversion != nil {
		halfWaySection(m, r.Conversion, o)
		noteSection(m, r.Conversion, o)
	}
	m.raw("<main id=\"the.pattern\">\n")
	if a.legend != "" {
		p.paragraph("legend", a.legend)
	}
	p.whole(a)
	for i := range a.pieces {
		p.piece(&a.pieces[i])
	}
	pieces.section(m, drawn, true)
	closePage(m)
	return m.Bytes()
}

type reviewPage struct{ markup }

// text writes words of a draft; the signs that steer a terminal have no place in a page either.
func (p *reviewPage) text(words string) { p.markup.text(printable(words)) }

func (p *reviewPage) paragraph(class, words string) {
	p.raw("<p class=\"", class, "\">")
	p.text(words)
	p.raw("</p>\n")
}

// table opens a table of changes with its columns.
func (p *reviewPage) table(class, caption string, columns ...string) {
	p.raw("<div class=\"frame\"><table class=\"", class, "\">")
	if caption != "" {
		p.raw("<caption>", caption, "</caption>")
	}
	p.raw("\n<thead><tr>")
	for _, c := range columns {
		p.raw("<th scope=\"col\">", c, "</th>")
	}
	p.raw("</tr></thead>\n")
}

const endTable = "</table></div>\n"

// cell writes a cell of words under a heading, with more, smaller, below it.
func (p *reviewPage) cell(head, class, words string, more ...string) {
	rest := strings.Join(more, "")
	if words+rest == "" {
		p.raw("<td class=\"none\"></td>")
		return
	}
	p.raw("<td data-head=\"", head, "\"")
	if class != "" {
		p.raw(" class=\"", class, "\"")
	}
	p.raw("><div>")
	p.text(words)
	for _, x := range more {
		if x != "" {
			p.raw(" <span class=\"aside\">")
			p.text(x)
			p.raw("</span>")
		}
	}
	p.raw("</div></td>")
}

// whole writes what is said of the garment as a whole: what it comes to, the gauge, the measurements.
func (p *reviewPage) whole(a *account) {
	p.raw("<section>\n<h2>What it comes to</h2>\n")
	p.totals(a.totals)
	if n := len(a.keptTotals); n > 0 {
		p.raw("<details><summary>", counted(n, "measure"), " as before</summary>\n")
		p.totals(a.keptTotals)
		p.raw("</details>\n")
	}
	p.table("changes", "Gauge", "Fabric", "Before", "Now")
	p.raw("<tbody>\n")
	for _, g := range a.gauges {
		p.beforeAndNow(g.fabric, g.old, g.now, g.state)
	}
	p.raw("</tbody>", endTable)
	if len(a.measures) > 0 {
		p.table("changes", "Measures", "Measure", "Before", "Now")
		p.raw("<tbody>\n")
		for _, m := range a.measures {
			p.beforeAndNow(m.name, m.old, m.now, m.state)
		}
		p.raw("</tbody>", endTable)
	}
	if a.block != "" {
		p.paragraph("", a.block)
	}
	if n := len(a.keptMeasures); n > 0 {
		p.raw("<details><summary>", counted(n, "measure"), " as before</summary>\n")
		p.table("changes", "", "Measure", "Before and now")
		p.raw("<tbody>\n")
		for _, m := range a.keptMeasures {
			p.raw("<tr><th scope=\"row\">")
			p.text(m.name)
			p.raw("</th>")
			p.cell("Before and now", "", m.now)
			p.raw("</tr>\n")
		}
		p.raw("</tbody>", endTable, "</details>\n")
	}
	p.raw("</section>\n")
}

func (p *reviewPage) totals(totals []totalWords) {
	if len(totals) == 0 {
		return
	}
	p.table("changes totals", "", "Measure", "Should be", "Before", "Now")
	p.raw("<tbody>\n")
	for _, t := range totals {
		p.raw("<tr><th scope=\"row\">")
		p.text(t.name)
		p.raw("</th>")
		before := ""
		if t.askedBefore != "" && t.askedBefore != t.asked {
			before = "was to be " + t.askedBefore
		}
		p.cell("Should be", "", t.asked, before)
		p.cell("Before", "", t.old, t.missed)
		p.cell("Now", "now", t.now, t.misses)
		p.raw("</tr>\n")
	}
	p.raw("</tbody>", endTable)
}

func (p *reviewPage) beforeAndNow(name, old, now, state string) {
	p.raw("<tr><th scope=\"row\">")
	p.text(name)
	p.raw("</th>")
	p.cell("Before", "", old)
	class := "now"
	if old == now {
		class = ""
	}
	p.cell("Now", class, now, state)
	p.raw("</tr>\n")
}

// piece writes what changed under one heading. An outline of the piece, old behind new, has its place right below the heading.
func (p *reviewPage) piece(x *pieceWords) {
	p.raw("<section>\n<h2>")
	p.text(x.name)
	if x.state != "" {
		p.raw(" <span class=\"aside\">")
		p.text(x.state)
		p.raw("</span>")
	}
	p.raw("</h2>\n")
	if len(x.marks) > 0 {
		p.table("changes numbers", "", "Instruction", "Before", "Now", "Should be", "Why")
		for i := range x.marks {
			p.mark(&x.marks[i])
		}
		p.raw(endTable)
	}
	for i := range x.prose {
		p.prose(&x.prose[i])
	}
	if x.keptNumbers > 0 {
		p.raw("<details><summary>", counted(x.keptNumbers, "number"), " as before</summary>\n")
		p.table("changes numbers kept", "", "Instruction", "Before and now", "Should be", "Why")
		for i := range x.kept {
			p.kept(&x.kept[i])
		}
		p.raw(endTable, "</details>\n")
	}
	p.raw("</section>\n")
}

// mark writes an instruction and its numbers that changed, as a group of rows where it has several or more is to be said.
func (p *reviewPage) mark(m *markWords) {
	p.raw("<tbody>\n")
	if m.told || m.ties != "" || len(m.numbers) == 0 {
		p.raw("<tr class=\"told\"><th scope=\"rowgroup\" colspan=\"5\">")
		for _, s := range m.state {
			p.raw("<strong class=\"state\">")
			p.text(s)
			p.raw("</strong> ")
		}
		if m.told {
			p.runs(m.runs)
		} else {
			p.text(m.label)
		}
		p.aside(m)
		if m.ties != "" {
			p.raw(" <span class=\"aside more\">")
			p.text(m.ties)
			p.raw("</span>")
		}
		if m.why != "" {
			p.raw(" <span class=\"aside more\">")
			p.text(m.why)
			p.raw("</span>")
		}
		p.raw("</th></tr>\n")
	}
	for i := range m.numbers {
		n := &m.numbers[i]
		p.raw("<tr><th scope=\"row\">")
		if m.told || m.ties != "" {
			p.text(n.label)
		} else {
			p.text(m.label)
			p.aside(m)
		}
		p.raw("</th>")
		p.cell("Before", "", n.old, sized(n.oldSize))
		p.cell("Now", "now", n.now, sized(n.nowSize), n.state)
		p.cell("Should be", "", n.should)
		p.cell("Why", "why", n.why)
		p.raw("</tr>\n")
	}
	p.raw("</tbody>\n")
}

func sized(s string) string {
	if s == "" {
		return ""
	}
	return "= " + s
}

// aside writes an instruction's name and place.
func (p *reviewPage) aside(m *markWords) {
	if m.name != "" {
		p.raw(" <em>")
		p.text(m.name)
		p.raw("</em>")
	}
	p.raw(" <span class=\"aside\">", m.where, "</span>")
}

func (p *reviewPage) kept(m *markWords) {
	p.raw("<tbody>\n")
	for i := range m.numbers {
		n := &m.numbers[i]
		p.raw("<tr><th scope=\"row\">")
		p.text(m.label)
		if len(m.numbers) > 1 {
			p.raw(": ")
			p.text(n.label)
		}
		p.aside(m)
		p.raw("</th>")
		p.cell("Before and now", "", n.now, sized(n.nowSize))
		p.cell("Should be", "", n.should)
		p.cell("Why", "why", n.why)
		p.raw("</tr>\n")
	}
	p.raw("</tbody>\n")
}

// prose writes a passage of the text word by word.
func (p *reviewPage) prose(x *proseWords) {
	p.raw("<p class=\"sentence\">")
	if x.state != "" {
		p.raw("<strong class=\"state\">", x.state, "</strong> ")
	}
	p.runs(x.runs)
	p.raw(" <span class=\"aside\">text, ", x.where, "</span></p>\n")
}

// runs writes a comparison word by word. Several screen readers announce neither element, so words say it, too.
func (p *reviewPage) runs(runs []run) {
	for _, r := range runs {
		words := strings.TrimSpace(r.text)
		if r.is == both || words == "" {
			p.text(r.text)
			continue
		}
		element, says := "del", "out"
		if r.is == come {
			element, says = "ins", "in"
		}
		before, after, _ := strings.Cut(r.text, words)
		p.text(before)
		p.raw("<", element, "><span class=\"sr\">[", says, ": </span>")
		p.text(words)
		p.raw("<span class=\"sr\">]</span></", element, ">")
		p.text(after)
	}
}
