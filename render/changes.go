package render

import (
	_ "embed"
	"math/big"
	"strconv"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

//go:embed changes.css
var changesCSS string

var changesStyles = strings.ReplaceAll(changesCSS, "\n", "")

// ChangesPage is what a conversion changed as one self-contained HTML document: number by number under the heading each
// stands in, old and new, the size it should give and the size it gives, and why; what stayed is folded away. Where a
// sentence was written anew, it is shown word by word.
func ChangesPage(c *rewrite.Conversion, o Options) ([]byte, error) {
	f := c.Draft.File
	p := changesPage{c: c, sizesIn: grammar.Centimetres, sentences: map[int]*rewrite.MarkText{}}
	if o.Units == "in" || o.Units == "" && draftedInInches(c) {
		p.sizesIn = grammar.Inches
	}
	m := &p.markup
	m.Grow(len(styles) + len(changesStyles) + 4096 + 320*len(c.Numbers))
	name := title(f)
	openPage(m, "Changes: "+name, changesStyles, "To the changes")
	m.raw("<h1>What changed in ")
	m.text(name)
	m.raw("</h1>\n<p class=\"made\">", made(c, o), " ", tally(c), "</p>\n</header>\n")
	halfWaySection(m, c, o)
	noteSection(m, c, o)
	m.raw("<main id=\"the.pattern\">\n")
	gaugeTable(m, c)
	if names := sizeNames(c); len(names) > 1 {
		m.raw("<p class=\"legend\">Numbers stand in the order of the sizes: ")
		m.text(layout(names, grammar.ListStyle{}))
		m.raw(".</p>\n")
	}
	for i := range c.Marks {
		if c.Marks[i].Rewritten {
			p.sentences[c.Marks[i].Mark] = &c.Marks[i]
		}
	}
	for i := 0; i < len(c.Numbers); {
		j := i
		for j < len(c.Numbers) && c.Numbers[j].Piece == c.Numbers[i].Piece {
			j++
		}
		p.piece(i, j)
		i = j
	}
	closePage(m)
	return m.Bytes(), nil
}

// changesPage is a page of changes being written.
type changesPage struct {
	markup
	c         *rewrite.Conversion
	sizesIn   grammar.Unit
	sentences map[int]*rewrite.MarkText // those written anew, by their mark
	values    sizeValues
	words     wordDiffer
	line      []byte // a list of values, before it is escaped
}

func tally(c *rewrite.Conversion) string {
	n := 0
	for i := range c.Numbers {
		if c.Numbers[i].Changed {
			n++
		}
	}
	return strconv.Itoa(n) + " of " + counted(len(c.Numbers), "number") + " changed."
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// piece writes the numbers [from, to), which stand under one heading.
func (p *changesPage) piece(from, to int) {
	m, numbers := &p.markup, p.c.Numbers
	name := numbers[from].Piece
	if name == "" {
		name = "At the beginning"
	}
	m.raw("<section>\n<h2>")
	m.text(name)
	m.raw("</h2>\n")
	changed := 0
	for i := from; i < to; i++ {
		if numbers[i].Changed {
			changed++
		}
	}
	if changed > 0 {
		m.raw("<div class=\"frame\"><table class=\"numbers\">\n<thead><tr><th scope=\"col\">Number</th><th scope=\"col\">Draft</th><th scope=\"col\">Now</th>" +
			"<th scope=\"col\">Should be</th><th scope=\"col\">Comes to</th><th scope=\"col\">Why</th></tr></thead>\n<tbody>\n")
		for i := from; i < to; i++ {
			if numbers[i].Changed {
				p.row(&numbers[i])
			}
		}
		m.raw("</tbody></table></div>\n")
	}
	last := -1
	for i := from; i < to; i++ {
		mark := numbers[i].Mark
		if t := p.sentences[mark]; t != nil && mark != last {
			p.sentence(t)
		}
		last = mark
	}
	if kept := to - from - changed; kept > 0 {
		m.raw("<details><summary>", counted(kept, "number"), " as in the draft</summary>\n<div class=\"frame\"><table class=\"numbers kept\">\n"+
			"<thead><tr><th scope=\"col\">Number</th><th scope=\"col\">Draft and now</th><th scope=\"col\">Should be</th><th scope=\"col\">Comes to</th><th scope=\"col\">Why</th></tr></thead>\n<tbody>\n")
		for i := from; i < to; i++ {
			if !numbers[i].Changed {
				p.row(&numbers[i])
			}
		}
		m.raw("</tbody></table></div>\n</details>\n")
	}
	m.raw("</section>\n")
}

// row writes a number: as drafted and now where it changed, else once.
func (p *changesPage) row(n *rewrite.Number) {
	m := &p.markup
	var style grammar.ListStyle
	if q := n.Quantity; q >= 0 && q < len(p.c.Draft.Quantities) && p.c.Draft.Quantities[q].Value != nil {
		style = p.c.Draft.Quantities[q].Value.Style
	}
	line, _ := p.c.Draft.File.Position(n.Span.Start)
	m.raw("<tr><th scope=\"row\">")
	m.text(n.Phrase)
	if n.Name != "" {
		m.raw(" <em>")
		m.text(n.Name)
		m.raw("</em>")
	}
	m.raw(" <span class=\"aside\">line ")
	m.whole(line)
	m.raw("</span></th>")
	unit, many := unitWord(n)
	if n.Changed {
		p.cell("Draft", "", p.drafted(n, n.From, style), unit, many)
		p.cell("Now", "now", p.drafted(n, n.To, style), unit, many)
	} else {
		p.cell("Draft and now", "", p.drafted(n, n.To, style), unit, many)
	}
	p.sizes("Should be", n.Wanted, style)
	p.sizes("Comes to", n.Measures, style)
	m.raw("<td data-head=\"Why\" class=\"why\">", why(n))
	if n.Assumed {
		m.raw(", at an assumed gauge")
	}
	m.raw("</td></tr>\n")
}

// cell writes a cell of values and their unit, or one marked as empty.
func (p *changesPage) cell(head, class string, values []byte, unit ...string) {
	m := &p.markup
	if len(values) == 0 && strings.Join(unit, "") == "" {
		m.raw("<td class=\"none\"></td>")
		return
	}
	m.raw("<td data-head=\"", head, "\"")
	if class != "" {
		m.raw(" class=\"", class, "\"")
	}
	m.raw(">")
	_, _ = m.Write(appendEscaped(m.AvailableBuffer(), values))
	for _, u := range unit {
		m.text(u)
	}
	m.raw("</td>")
}

// unitWord is what a number counts, as it follows the number, and the ending of the plural where it has one.
func unitWord(n *rewrite.Number) (word, many string) {
	many = "s"
	if one(n.To) && one(n.From) {
		many = ""
	}
	switch n.Kind {
	case dsl.Stitches:
		return " st", many
	case dsl.Rows:
		switch n.Unit {
		case grammar.Rounds:
			return " round", many
		case grammar.Ridges:
			return " ridge", many
		}
		return " row", many
	case dsl.Length:
		switch n.Unit {
		case grammar.Inches:
			return " in", ""
		case grammar.Millimetres:
			return " mm", ""
		}
		return " cm", ""
	case dsl.Times:
		return " time", many
	case dsl.Yarn:
		if k := kindName(n); k != "yarn" {
			return " " + k, ""
		}
	}
	return "", ""
}

func one(x []*big.Rat) bool {
	for _, v := range x {
		if v == nil || !v.IsInt() || !v.Num().IsInt64() || v.Num().Int64() != 1 {
			return false
		}
	}
	return true
}

// drafted is a number's values in the layout of the draft, as they are written there. It holds until the next list.
func (p *changesPage) drafted(n *rewrite.Number, x []*big.Rat, s grammar.ListStyle) []byte {
	l := &p.values
	l.clear()
	for _, v := range x {
		switch {
		case v == nil:
			l.text = append(l.text, "–"...)
		case n.Unit.IsLength():
			l.text = appendTape(l.text, v, n.Unit, n.Unit)
		default:
			l.text = appendDecimals(l.text, v, 2)
		}
		l.end()
	}
	p.line = l.appendList(p.line[:0], s)
	return p.line
}

// sizes writes a number's sizes to the tenth of a centimetre, or the hundredth of an inch where the reader has inches:
// finer than a tape is read, so that one can see how near the whole number came.
func (p *changesPage) sizes(head string, x []*big.Rat, s grammar.ListStyle) {
	l := &p.values
	l.clear()
	any := false
	for _, v := range x {
		switch {
		case v == nil:
			l.text = append(l.text, "–"...)
		case p.sizesIn == grammar.Inches:
			l.text = appendDecimals(l.text, new(big.Rat).Quo(v, inch), 2)
		default:
			l.text = appendDecimals(l.text, v, 1)
		}
		any = any || v != nil
		l.end()
	}
	if !any {
		p.cell(head, "", nil)
		return
	}
	p.line = l.appendList(p.line[:0], s)
	p.cell(head, "", p.line, " ", unitName(p.sizesIn))
}

// draftedInInches says whether the draft's measures are in inches, or its gauge is where it has none.
func draftedInInches(c *rewrite.Conversion) bool {
	for _, m := range c.Measures {
		if m.Length {
			return m.Unit == grammar.Inches
		}
	}
	return len(c.Gauges) > 0 && c.Gauges[0].Over != nil && !c.Gauges[0].Over.IsInt()
}

func why(n *rewrite.Number) string {
	switch {
	case n.Tied:
		return "follows its tie"
	case n.Kind == dsl.Times:
		return "follows from the counts"
	case n.Kind == dsl.Yarn:
		return "scales with the area"
	case len(n.Wanted) > 0 && n.Wanted[0] != nil:
		return "keeps its drafted size"
	}
	return "follows from the others"
}

// sentence shows a sentence that was written anew, word by word.
func (p *changesPage) sentence(t *rewrite.MarkText) {
	m := &p.markup
	var now strings.Builder
	for _, x := range t.Pieces {
		now.WriteString(x.Text)
	}
	var was string
	if f := p.c.Draft.File; t.Mark >= 0 && t.Mark < len(f.Marks) {
		was = f.Text(f.Marks[t.Mark].PhraseSpan)
	}
	m.raw("<p class=\"sentence\"><span class=\"sr\">Written anew: </span>")
	for _, d := range p.words.diff(plain(was), plain(strings.TrimSpace(now.String()))) {
		switch d.is {
		case both:
			m.text(d.text)
		case gone:
			m.raw("<del><span class=\"sr\">[out: </span>")
			m.text(d.text)
			m.raw("<span class=\"sr\">]</span></del>")
		case come:
			m.raw("<ins><span class=\"sr\">[in: </span>")
			m.text(d.text)
			m.raw("<span class=\"sr\">]</span></ins>")
		}
	}
	m.raw("</p>\n")
}
