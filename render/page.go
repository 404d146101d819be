package render

import (
	"bytes"
	_ "embed"
	"strings"
	"unicode"

	"github.com/sergi/go-diff/diffmatchpatch"
	"github.com/yuin/goldmark/ast"

	"gaugewright/rewrite"
)

//go:embed page.css
var pageCSS string

// styles is the style sheet of the page, line ends taken out.
var styles = strings.ReplaceAll(pageCSS, "\n", "")

// Page is the pattern as one self-contained HTML document: nothing is fetched and nothing is run. Numbers that changed
// are underlined; what the draft said is shown beside the text when an instruction is pointed at or tabbed to, and is in
// the words that screen readers read. On paper only the new numbers stand.
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
	s.html = make([]string, len(s.texts))
	changed := 0
	for i := range s.texts {
		s.html[i] = instruction(&s.texts[i], names)
		if s.texts[i].changed {
			changed++
		}
	}
	s.tables = tables(c, o)
	doc := parseSheet(s)

	var b bytes.Buffer
	b.Grow(4*len(f.Src) + len(styles) + 1024)
	head, headed := takeTitle(doc)
	name := title(f)
	if head != nil {
		if t := strings.TrimSpace(words(head, s.src)); t != "" {
			name = t
		}
	}
	openPage(&b, name)
	if head != nil {
		if err := markdown().Renderer().Render(&b, s.src, head); err != nil {
			return nil, err
		}
	} else if !headed {
		b.WriteString("<h1>" + escape(name) + "</h1>\n")
	}
	b.WriteString(`<p class="made">` + made(c, o) + "</p>\n</header>\n")
	noteSection(&b, c)
	b.WriteString("<main id=\"the.pattern\">\n")
	if changed > 0 {
		b.WriteString("<p class=\"legend\">Underlined numbers are new. Point at one, tap it or tab to it to see what the draft says there.</p>\n")
	}
	if err := markdown().Renderer().Render(&b, s.src, doc); err != nil {
		return nil, err
	}
	closePage(&b)
	return b.Bytes(), nil
}

func openPage(b *bytes.Buffer, title string) {
	b.WriteString("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>")
	b.WriteString(escape(title))
	b.WriteString("</title>\n<style>")
	b.WriteString(styles)
	b.WriteString("</style>\n</head>\n<body>\n<a class=\"skip\" href=\"#the.pattern\">To the instructions</a>\n<div class=\"sheet\">\n<header>\n")
}

func closePage(b *bytes.Buffer) { b.WriteString("</main>\n</div>\n</body>\n</html>\n") }

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
			}
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}

// made is the line under the title: for whom and at which gauge.
func made(c *rewrite.Conversion, o Options) string {
	var b strings.Builder
	size := o.Size
	if size == "" && len(c.Targets) == 1 {
		size = c.Targets[0].Name
	}
	if size != "" {
		b.WriteString("Size " + escape(size) + ". ")
	}
	if len(c.Gauges) > 0 {
		b.WriteString(escape(gaugeText(c.Gauges[0], true)))
		if !c.Gauges[0].From.Same(c.Gauges[0].To) {
			b.WriteString("; drafted at " + escape(gaugeText(c.Gauges[0], false)))
		}
		b.WriteString(".")
	}
	return strings.TrimSpace(b.String())
}

func noteSection(b *bytes.Buffer, c *rewrite.Conversion) {
	if !hasNotes(c) {
		return
	}
	cautions, assumptions, warnings := notes(c)
	b.WriteString("<section class=\"notes\" aria-labelledby=\"the.notes\">\n<h2 id=\"the.notes\">" + before + "</h2>\n<ul>\n")
	for _, l := range cautions {
		b.WriteString("<li class=\"care\"><strong>Take care.</strong> " + noteHTML(l) + "</li>\n")
	}
	for _, l := range assumptions {
		b.WriteString("<li><em>Assumed.</em> " + noteHTML(l) + "</li>\n")
	}
	for _, l := range warnings {
		b.WriteString("<li>" + noteHTML(l) + "</li>\n")
	}
	b.WriteString("</ul>\n</section>\n")
}

// noteHTML is a note with what it quotes between backticks set as code.
func noteHTML(s string) string {
	parts := strings.Split(s, "`")
	if len(parts) < 3 || len(parts)%2 == 0 {
		return escape(s)
	}
	var b strings.Builder
	for i, p := range parts {
		if i%2 == 1 {
			b.WriteString("<code>" + escape(p) + "</code>")
		} else {
			b.WriteString(escape(p))
		}
	}
	return b.String()
}

// instruction is a marked instruction as HTML.
func instruction(w *wording, sizes []string) string {
	var b strings.Builder
	b.Grow(256)
	if !w.changed {
		b.WriteString(escape(plain(w.text())))
		asideHTML(&b, w, sizes)
		return b.String()
	}
	b.WriteString(`<span class="m" tabindex="0">`)
	for _, s := range w.stretches {
		if s.list != "" {
			b.WriteString(`<span class="sr">was ` + escape(plain(s.list)) + ", now </span>")
		}
		switch {
		case !s.changed:
			b.WriteString(escape(plain(s.text)))
		case s.text == "":
			b.WriteString(`<span class="sr">left out: ` + escape(plain(s.was)) + `</span>`)
		case s.was == "":
			b.WriteString(`<b class="n"><span class="sr">new: </span>` + escape(plain(s.text)) + "</b>")
		default:
			if !s.inList {
				b.WriteString(`<span class="sr">was ` + escape(plain(s.was)) + ", now </span>")
			}
			differing(&b, s, diffmatchpatch.DiffInsert, `<b class="n">`)
		}
	}
	b.WriteString(`<span class="was" aria-hidden="true">Drafted: `)
	for _, s := range w.stretches {
		if s.changed {
			differing(&b, s, diffmatchpatch.DiffDelete, "<b>")
		} else {
			b.WriteString(escape(plain(s.text)))
		}
	}
	b.WriteString("</span></span>")
	asideHTML(&b, w, sizes)
	return b.String()
}

// differing writes what a stretch says (DiffInsert) or said (DiffDelete) with what differs set in bold: in a sentence
// written anew the numbers that differ, or the words where those are what changed, and not the whole.
func differing(b *strings.Builder, s stretch, side diffmatchpatch.Operation, bold string) {
	was, now := plain(s.was), plain(s.text)
	if number(was) && number(now) { // nearly always
		if side == diffmatchpatch.DiffDelete {
			now = was
		}
		b.WriteString(bold)
		b.WriteString(now)
		b.WriteString("</b>")
		return
	}
	for _, d := range wordDiff(was, now) {
		switch {
		case d.Type == diffmatchpatch.DiffEqual:
			b.WriteString(escape(d.Text))
		case d.Type != side:
		case !strings.ContainsAny(d.Text, digits):
			b.WriteString(bold + escape(d.Text) + "</b>")
		default:
			for _, t := range tokens(d.Text) {
				if strings.ContainsAny(t, digits) {
					b.WriteString(bold + escape(t) + "</b>")
				} else {
					b.WriteString(escape(t))
				}
			}
		}
	}
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

// asideHTML is a spread that is the same in every size; one that is not stands below its paragraph.
func asideHTML(b *strings.Builder, w *wording, sizes []string) {
	if s := spread(w, sizes); len(s) > 0 && s[0][0] == "" {
		b.WriteString(escape(w.aside(s[0][1])))
	}
}

// spreadHTML is a spread written out, a line a size, to stand below the paragraph or, inline, in a cell or heading.
func spreadHTML(w *wording, sizes []string, inline bool) string {
	s := spread(w, sizes)
	if len(s) == 0 || s[0][0] == "" {
		return ""
	}
	var b strings.Builder
	if inline {
		b.WriteString(" (")
		for i, x := range s {
			if i > 0 {
				b.WriteString("; ")
			}
			b.WriteString("<b>" + escape(x[0]) + ":</b> " + escape(x[1]))
		}
		b.WriteString(")")
		return b.String()
	}
	text := []rune(strings.TrimSpace(plain(w.text())))
	if len(text) > 0 {
		text[0] = unicode.ToUpper(text[0])
	}
	b.WriteString("<div class=\"spread\"><p>" + escape(string(text)) + ":</p>\n<ul>\n")
	for _, x := range s {
		b.WriteString("<li><b>" + escape(x[0]) + ":</b> " + escape(x[1]) + "</li>\n")
	}
	b.WriteString("</ul></div>\n")
	return b.String()
}

// tables are the sizes and gauge that stand in the place of the draft block.
func tables(c *rewrite.Conversion, o Options) string {
	var b strings.Builder
	t := sizeTable(c, o)
	if len(t.rows) > 0 {
		b.WriteString(strings.Replace(tableFrame(len(t.sizes)+1), "<table>", `<table class="sizes"><caption>Sizes and measures</caption>`, 1))
		b.WriteString("<thead><tr><th scope=\"col\">Measure</th>")
		for _, s := range t.sizes {
			b.WriteString(`<th scope="col">` + escape(s) + "</th>")
		}
		b.WriteString("</tr></thead>\n<tbody>\n")
		for _, r := range t.rows {
			b.WriteString(`<tr><th scope="row">` + escape(r.name))
			if r.unit != "" {
				b.WriteString(` <span class="unit">` + r.unit)
				if r.secondUnit != "" {
					b.WriteString(" (" + r.secondUnit + ")")
				}
				b.WriteString("</span>")
			}
			b.WriteString("</th>")
			for i, v := range r.values {
				b.WriteString("<td>" + escape(v))
				if i < len(r.second) {
					b.WriteString(" (" + r.second[i] + ")")
				}
				b.WriteString("</td>")
			}
			b.WriteString("</tr>\n")
		}
		b.WriteString("</tbody></table></div>\n")
	} else if len(t.sizes) > 1 {
		b.WriteString("<p>Sizes: " + escape(layout(t.sizes, sizesStyle(c))) + "</p>\n")
	}
	b.WriteString(gaugeTable(c))
	return b.String()
}

func gaugeTable(c *rewrite.Conversion) string {
	var b strings.Builder
	changed := gaugeChanged(c)
	b.WriteString(`<div class="frame"><table><caption>Gauge</caption>` + "\n" + `<thead><tr><th scope="col">Fabric</th>`)
	if changed {
		b.WriteString(`<th scope="col">This copy</th><th scope="col">The draft</th>`)
	} else {
		b.WriteString(`<th scope="col">Gauge</th>`)
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, g := range c.Gauges {
		b.WriteString(`<tr><th scope="row">` + escape(g.Fabric) + "</th><td>" + gaugeText(g, true))
		if g.Assumed {
			b.WriteString(` <span class="aside">(assumed)</span>`)
		}
		b.WriteString("</td>")
		if changed {
			b.WriteString("<td>" + gaugeText(g, false) + "</td>")
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody></table></div>\n")
	return b.String()
}
