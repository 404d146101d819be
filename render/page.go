package render

import (
	"bytes"
	_ "embed"
	"slices"
	"strings"
	"unicode"

	"github.com/yuin/goldmark/ast"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

//go:embed page.css
var pageCSS string

// styles is the style sheet of the page, line ends taken out.
var styles = strings.ReplaceAll(pageCSS, "\n", "")

// Page is the pattern as one self-contained HTML document to knit from: nothing is fetched, and all of it can be read where
// no script is run. Its reader chooses a size, and the others step back; the steps of each paragraph stand beside it, to be
// ticked off. Numbers that changed are underlined; what the draft said is shown when an instruction is pointed at or tabbed
// to, and is in the words that screen readers read. On paper only the new numbers stand, and only those of the chosen size.
func Page(c *rewrite.Conversion, o Options) ([]byte, error) {
	f := c.Draft.File
	names := sizeNames(c)
	s := &sheet{src: f.Src, marks: f.Marks, sizes: names, texts: wordings(c, o), block: c.Draft.Block, unsafe: o.UnsafeHTML}
	if bytes.HasPrefix(s.src, []byte("\ufeff")) {
		s.base = len("\ufeff")
	}
	if n := headMatter(s.src[s.base:]); n > 0 && (len(s.marks) == 0 || s.marks[0].Span.Start >= s.base+n) && (s.block == nil || s.block.Span.Start >= s.base+n) {
		s.base += n
	}
	s.src = s.src[s.base:]
	changed := 0
	for i := range s.texts {
		if s.texts[i].changed {
			changed++
		}
	}
	var doc ast.Node
	dsl.SideBySide(2, func(i int) {
		if i == 0 {
			piecesBySize(c, o)
			return
		}
		s.html = instructions(c, s.texts)
		s.steps = steps(c, s.texts)
		var block markup // what stands in the place of the draft block; drawings of the pieces belong behind its tables
		block.Grow(512 + 48*len(c.Measures)*(len(names)+2))
		tables(&block, c, o)
		s.tables = block.Bytes()
		doc = parseSheet(s)
	})

	pieces, drawn := platesOf(c, o), piecesBySize(c, o)
	var m markup
	m.Grow(8<<10 + 9*len(f.Src) + len(styles) + len(pageScript) + bytesOf(drawn))
	head, headed := takeTitle(doc)
	name := title(f)
	if head != nil {
		if t := strings.TrimSpace(words(head, s.src)); t != "" {
			name = t
		}
	}
	openPage(&m, name, sizeRules(len(names))+schematicStyles+pieceRules(len(names)), "To the instructions")
	if head != nil {
		if err := markdown().Renderer().Render(&m, s.src, head); err != nil {
			return nil, err
		}
	} else if !headed {
		m.raw("<h1>")
		m.text(name)
		m.raw("</h1>\n")
	}
	m.raw(`<p class="made">`, made(c, o), "</p>\n")
	if o.Index != "" {
		m.raw(`<p class="back"><a href="`, escape(o.Index), "\">Other gauges and sizes</a></p>\n")
	}
	chooser(&m, c)
	m.raw("</header>\n")
	halfWaySection(&m, c, o)
	noteSection(&m, c, o)
	m.raw("<main id=\"the.pattern\" data-copy=\"", fingerprint(c), "\">\n")
	legend(&m, changed > 0, slices.ContainsFunc(s.steps, func(b []byte) bool { return len(b) > 0 }))
	if err := markdown().Renderer().Render(&m, s.src, doc); err != nil {
		return nil, err
	}
	secondSections(&m, c)
	pieces.section(&m, drawn, false)
	m.raw("<script>", pageScript, "</script>\n")
	closePage(&m)
	return m.Bytes(), nil
}

func legend(m *markup, changed, ticked bool) {
	if !changed && !ticked {
		return
	}
	m.raw("<p class=\"legend\">")
	if changed {
		m.raw("Underlined numbers are new: point at one, tap it or tab to it to see what the draft says there. ")
	}
	if ticked {
		m.raw("The list with each paragraph is for ticking off: what is done, the rows it takes, and the stitches then on the needles.")
	}
	m.raw("</p>\n")
}

// openPage writes the head of a document and opens its body; more is style of its own, skip what the first link says.
func openPage(m *markup, title, more, skip string) {
	m.raw("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>")
	m.text(title)
	m.raw("</title>\n<style>", styles, more, "</style>\n</head>\n<body>\n<a class=\"skip\" href=\"#the.pattern\">", skip, "</a>\n<div class=\"sheet\">\n<header>\n")
}

func closePage(m *markup) { m.raw("</main>\n</div>\n</body>\n</html>\n") }

// takeTitle takes the draft's first heading out of the tree if it is the first thing there and of the first rank. headed
// says whether the draft has a heading of that rank at all.
func takeTitle(doc ast.Node) (head ast.Node, headed bool) {
	for n := doc.FirstChild(); n != nil; n = n.NextSibling() {
		if h, ok := n.(*ast.Heading); ok && h.Level == 1 {
			if doc.FirstChild() == n {
				doc.RemoveChild(doc, n)
				return n, true
			}
			return nil, true
		}
	}
	return nil, false
}

// words are the words of a node, mark-up left out.
func words(n ast.Node, src []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			switch n := n.(type) {
			case *ast.Text:
				b.WriteString(plain(string(n.Segment.Value(src))))
				if n.SoftLineBreak() || n.HardLineBreak() {
					b.WriteByte(' ')
				}
			case *ast.String:
				b.Write(n.Value)
			case *marked:
				b.WriteString(plain(n.text.text()))
				return ast.WalkSkipChildren, nil
			}
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}

// made is the line under the title, as mark-up: for whom and at which gauge.
func made(c *rewrite.Conversion, o Options) string {
	var m markup
	size := o.Size
	if size == "" && len(c.Targets) == 1 {
		size = c.Targets[0].Name
	}
	if size != "" {
		m.raw("Size ")
		m.text(size)
		m.raw(". ")
	}
	if len(c.Gauges) > 0 {
		m.text(gaugeText(c.Gauges[0], true))
		if !c.Gauges[0].From.Same(c.Gauges[0].To) {
			m.raw("; drafted at ")
			m.text(gaugeText(c.Gauges[0], false))
		}
		m.raw(".")
	}
	return strings.TrimSpace(m.String())
}

func noteSection(m *markup, c *rewrite.Conversion, o Options) {
	if !hasNotes(c, o) {
		return
	}
	cautions, assumptions, warnings := notes(c)
	m.raw("<section class=\"notes\" aria-labelledby=\"the.notes\">\n<h2 id=\"the.notes\">", before, "</h2>\n<ul>\n")
	for _, g := range [...]struct {
		lead  string
		lines []string
	}{{"<li class=\"care\"><strong>Take care.</strong> ", cautions}, {"<li><em>Assumed.</em> ", assumptions}, {"<li>", warnings}} {
		for _, l := range g.lines {
			m.raw(g.lead)
			note(m, l)
			m.raw("</li>\n")
		}
	}
	if yarn := yarnLines(c, o); yarn != nil {
		m.raw("<li><em>Yarn.</em> ")
		x := bySize{of: [][]int{everySize(len(c.Targets))}, parts: []part{{text: strings.Join(yarn, " ")}}}
		x.write(m)
		m.raw("</li>\n")
	}
	m.raw("</ul>\n</section>\n")
}

// note writes a note with what it quotes between backticks set as code.
func note(m *markup, s string) {
	if n := strings.Count(s, "`"); n == 0 || n%2 == 1 {
		m.text(s)
		return
	}
	for code := false; ; code = !code {
		part, rest, more := strings.Cut(s, "`")
		if code {
			m.raw("<code>")
			m.text(part)
			m.raw("</code>")
		} else {
			m.text(part)
		}
		if !more {
			return
		}
		s = rest
	}
}

// instructions are marked instructions as HTML.
func instructions(c *rewrite.Conversion, texts []wording) [][]byte {
	w := instructionWriter{c: c, sizes: sizeNames(c)}
	w.allNow, w.allWas = sizing(c)
	w.now.bold, w.was.bold = `<b class="n">`, "<b>"
	w.Grow(256 * len(texts))
	ends := make([]int, len(texts))
	for i := range texts {
		w.instruction(i, &texts[i])
		ends[i] = w.Len()
	}
	all, at := w.Bytes(), 0
	out := make([][]byte, len(texts))
	for i, end := range ends {
		out[i], at = all[at:end], end
	}
	return out
}

// instructionWriter writes one instruction after another.
type instructionWriter struct {
	markup
	c        *rewrite.Conversion
	sizes    []string
	now, was bySize // what stands, and what the draft says
	words    wordDiffer
	allNow   []int // what lists of all sizes are for
	allWas   []int
}

func (x *instructionWriter) instruction(i int, w *wording) {
	m := &x.markup
	only := onlySizes(x.c, i)
	if only != nil {
		m.raw("<span")
		classOnly(m, only)
		m.raw(">")
	}
	x.now.forSizes(x.allNow, only)
	if w.changed {
		x.was.forSizes(x.allWas, only)
		x.changed(w)
		m.raw(`<span class="m" tabindex="0">`)
		x.now.write(m)
		m.raw(`<span class="was"> Drafted: `)
		x.was.write(m)
		m.raw("</span></span>")
	} else if text := plain(w.text()); !x.listsSizes(i, text) {
		x.now.parts = append(x.now.parts, part{text: text})
		x.now.write(m)
	}
	aside(m, w, x.sizes)
	if only != nil {
		m.raw("</span>")
	}
}

// listsSizes writes a mark that lists the sizes themselves. It reports whether it is one.
func (x *instructionWriter) listsSizes(i int, text string) bool {
	_, is := x.c.Draft.File.Marks[i].Phrase.(*grammar.SizesSaid)
	return is && sizeNamesList(&x.markup, text, x.sizes)
}

// changed takes an instruction apart into what stands now and what the draft says.
func (x *instructionWriter) changed(w *wording) {
	for i := range w.stretches {
		s := &w.stretches[i]
		now := plain(s.text)
		if !s.changed {
			x.now.parts = append(x.now.parts, part{text: now})
			x.was.parts = append(x.was.parts, part{text: now})
			continue
		}
		runs := x.compared(plain(s.was), now)
		x.now.parts = differing(x.now.parts, runs, come)
		x.was.parts = differing(x.was.parts, runs, gone)
	}
}

// compared are the runs of words in which two texts differ; a number for a number, nearly always, needs no comparison.
func (x *instructionWriter) compared(was, now string) []run {
	if number(was) && number(now) {
		x.words.out = append(x.words.out[:0], run{was, gone}, run{now, come})
		return x.words.out
	}
	return x.words.diff(was, now)
}

// differing adds one side of a comparison, with what differs in bold: in a sentence written anew the numbers that differ, or
// the words where those are what changed, and not the whole.
func differing(parts []part, runs []run, side where) []part {
	for _, r := range runs {
		switch {
		case r.is == both:
			parts = append(parts, part{text: r.text})
		case r.is != side || r.text == "":
		case number(r.text) || !strings.ContainsAny(r.text, digits):
			parts = append(parts, part{r.text, true})
		default:
			for rest := r.text; rest != ""; {
				n := token(rest)
				parts = append(parts, part{rest[:n], strings.ContainsAny(rest[:n], digits)})
				rest = rest[n:]
			}
		}
	}
	return parts
}

func number(s string) bool {
	for i := 0; i < len(s); i++ {
		if (s[i] < '0' || s[i] > '9') && s[i] != '.' {
			return false
		}
	}
	return s != ""
}

const digits = "0123456789½¼¾⅓⅔⅛⅜⅝⅞"

// aside writes a spread that is the same in every size; one that is not stands below its paragraph.
func aside(m *markup, w *wording, sizes []string) {
	if s := spread(w, sizes); len(s) > 0 && s[0].size == "" {
		m.text(w.aside(s[0].text))
	}
}

// spreadHTML is a spread written out, a line a size, to stand below the paragraph or, inline, in a cell or heading.
func spreadHTML(w *wording, sizes []string, inline bool) []byte {
	s := spread(w, sizes)
	if len(s) == 0 || s[0].size == "" {
		return nil
	}
	var m markup
	if inline {
		m.raw(" (")
		for i, x := range s {
			m.raw(`<span`)
			classOnly(&m, []int{x.of + 1})
			m.raw("><b>")
			m.text(x.size)
			m.raw(":</b> ")
			m.text(x.text)
			if i < len(s)-1 {
				m.raw("; ")
			}
			m.raw("</span>")
		}
		m.raw(")")
		return m.Bytes()
	}
	text := []rune(strings.TrimSpace(plain(w.text())))
	if len(text) > 0 {
		text[0] = unicode.ToUpper(text[0])
	}
	m.raw("<div class=\"spread\"><p>")
	all := bySize{of: [][]int{everySize(len(sizes))}, parts: []part{{text: string(text)}}}
	all.write(&m)
	m.raw(":</p>\n<ul>\n")
	for _, x := range s {
		m.raw("<li")
		classOnly(&m, []int{x.of + 1})
		m.raw("><b>")
		m.text(x.size)
		m.raw(":</b> ")
		m.text(x.text)
		m.raw("</li>\n")
	}
	m.raw("</ul></div>\n")
	return m.Bytes()
}

// tables writes the sizes and gauge that stand in the place of the draft block.
func tables(m *markup, c *rewrite.Conversion, o Options) {
	t := sizeTable(c, o)
	if len(t.rows) > 0 {
		m.raw(tableFrame(len(t.sizes)+1), `<table class="sizes"><caption>Sizes and measures</caption>`, "\n<thead><tr><th scope=\"col\">Measure</th>")
		for i, s := range t.sizes {
			m.raw(`<th scope="col"`)
			column(m, i, len(t.sizes))
			m.text(s)
			m.raw("</th>")
		}
		m.raw("</tr></thead>\n<tbody>\n")
		for _, r := range t.rows {
			m.raw(`<tr><th scope="row">`)
			m.text(r.name)
			if r.unit != "" {
				m.raw(` <span class="unit">`, r.unit)
				if r.secondUnit != "" {
					m.raw(" [", r.secondUnit, "]")
				}
				m.raw("</span>")
			}
			m.raw("</th>")
			for i, v := range r.values {
				m.raw("<td")
				column(m, i, len(t.sizes))
				m.text(v)
				if i < len(r.second) {
					m.raw(" [", r.second[i], "]")
				}
				m.raw("</td>")
			}
			m.raw("</tr>\n")
		}
		m.raw("</tbody></table></div>\n")
	} else if len(t.sizes) > 1 {
		m.raw("<p>Sizes: ")
		m.text(layout(t.sizes, sizesStyle(c)))
		m.raw("</p>\n")
	}
	gaugeTable(m, c)
}

// column ends the tag of a cell that is for one size of several.
func column(m *markup, i, sizes int) {
	if sizes > 1 {
		m.raw(` class="z z`)
		m.whole(i + 1)
		m.raw(`"`)
	}
	m.raw(">")
}

func gaugeTable(m *markup, c *rewrite.Conversion) {
	changed := gaugeChanged(c)
	m.raw(`<div class="frame"><table><caption>Gauge</caption>`, "\n", `<thead><tr><th scope="col">Fabric</th>`)
	if changed {
		m.raw(`<th scope="col">This copy</th><th scope="col">The draft</th>`)
	} else {
		m.raw(`<th scope="col">Gauge</th>`)
	}
	m.raw("</tr></thead>\n<tbody>\n")
	for _, g := range c.Gauges {
		m.raw(`<tr><th scope="row">`)
		m.text(g.Fabric)
		m.raw("</th><td>")
		m.text(gaugeText(g, true))
		if g.Assumed {
			m.raw(` <span class="aside">(assumed)</span>`)
		}
		m.raw("</td>")
		if changed {
			m.raw("<td>")
			m.text(gaugeText(g, false))
			m.raw("</td>")
		}
		m.raw("</tr>\n")
	}
	m.raw("</tbody></table></div>\n")
}
