package render

import (
	"bytes"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"gaugewright/grammar"
)

// The Markdown of a draft is parsed as it stands, braces and all, so that every offset is one of the draft. An inline
// parser of our own takes each marked instruction out whole by its offset; the draft block and raw HTML become nodes of
// our own once the tree stands. Everything a node needs to be drawn hangs on the node.

// sheet is one document on its way to HTML.
type sheet struct {
	src    []byte // without a byte-order mark and without the head that site builders put before the text
	base   int    // offset of src in the draft
	marks  []*grammar.Mark
	texts  []wording
	sizes  []string
	html   [][]byte // of each mark
	steps  [][]byte // of each mark: its step to tick off, nil where it has none
	block  *grammar.Block
	tables []byte // HTML in the place of the draft block
	unsafe bool
}

var sheetKey = parser.NewContextKey()

// markdown is set up once: building goldmark's tables takes longer than most drafts.
var markdown = sync.OnceValue(func() goldmark.Markdown {
	return goldmark.New(
		goldmark.WithExtensions(extension.GFM),
		goldmark.WithParserOptions(
			parser.WithAutoHeadingID(),
			parser.WithInlineParsers(util.Prioritized(markParser{}, 50)),
			parser.WithASTTransformers(util.Prioritized(transformer{}, 900)),
		),
		goldmark.WithRendererOptions(renderer.WithNodeRenderers(util.Prioritized(nodes{}, 100))),
	)
})

// marked is a marked instruction in the tree.
type marked struct {
	ast.BaseInline
	html []byte
	text *wording
	step []byte
}

var kindMarked = ast.NewNodeKind("MarkedInstruction")

func (*marked) Kind() ast.NodeKind            { return kindMarked }
func (n *marked) Dump(source []byte, lvl int) { ast.DumpHelper(n, source, lvl, nil, nil) }

// literal is ready HTML in the tree, for a block or within a line.
type literal struct {
	ast.BaseBlock
	html   []byte
	spread bool // it belongs to the paragraph before it
}

type literalInline struct {
	ast.BaseInline
	html string
}

var (
	kindLiteral       = ast.NewNodeKind("Literal")
	kindLiteralInline = ast.NewNodeKind("LiteralInline")
)

func (*literal) Kind() ast.NodeKind                  { return kindLiteral }
func (n *literal) Dump(source []byte, lvl int)       { ast.DumpHelper(n, source, lvl, nil, nil) }
func (*literalInline) Kind() ast.NodeKind            { return kindLiteralInline }
func (n *literalInline) Dump(source []byte, lvl int) { ast.DumpHelper(n, source, lvl, nil, nil) }

// markAt is the mark that begins at an offset of src, -1 where none does.
func (s *sheet) markAt(off int) int {
	off += s.base
	i := sort.Search(len(s.marks), func(i int) bool { return s.marks[i].Span.Start >= off })
	if i < len(s.marks) && s.marks[i].Span.Start == off {
		return i
	}
	return -1
}

type markParser struct{}

func (markParser) Trigger() []byte { return []byte{'{'} }

func (markParser) Parse(_ ast.Node, block text.Reader, pc parser.Context) ast.Node {
	s, ok := pc.Get(sheetKey).(*sheet)
	if !ok {
		return nil
	}
	_, seg := block.PeekLine()
	i := s.markAt(seg.Start)
	if i < 0 {
		return nil
	}
	// A mark may run over several lines, each with signs of a list or a quotation before it that belong to no segment.
	end := s.marks[i].Span.End - s.base
	for {
		line, seg := block.PeekLine()
		if line == nil {
			break
		}
		if end <= seg.Stop {
			block.Advance(max(0, end-seg.Start))
			break
		}
		block.AdvanceLine()
	}
	n := &marked{html: s.html[i], text: &s.texts[i]}
	if i < len(s.steps) {
		n.step = s.steps[i]
	}
	return n
}

type transformer struct{}

func (transformer) Transform(doc *ast.Document, reader text.Reader, pc parser.Context) {
	s, ok := pc.Get(sheetKey).(*sheet)
	if !ok {
		return
	}
	src := reader.Source()
	type swap struct{ old, now ast.Node }
	var swaps []swap
	var spelled, done []*marked
	tops, level := 0, 0
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.FencedCodeBlock:
			if s.inBlock(n) {
				swaps = append(swaps, swap{n, &literal{html: s.tables}})
			}
		case *marked:
			if len(n.text.spelled) > 0 {
				spelled = append(spelled, n)
			}
			if len(n.step) > 0 {
				done = append(done, n)
			}
			if inPicture(n) {
				// The text of a picture is drawn from the words below it.
				n.AppendChild(n, ast.NewString([]byte(plain(n.text.text()))))
			}
		case *ast.HTMLBlock:
			swaps = append(swaps, swap{n, &literal{html: []byte(s.htmlBlock(n, src))}})
		case *ast.RawHTML:
			swaps = append(swaps, swap{n, &literalInline{html: s.rawHTML(n, src)}})
		case *ast.Heading:
			// One heading of the first rank, and no rank left out below another.
			if n.Level == 1 {
				tops++
			}
			if tops > 1 || n.Level == 1 && level > 0 {
				n.Level++
			}
			if level > 0 || n.Level > 1 {
				n.Level = max(2, min(n.Level, max(level, 1)+1, 6))
			}
			level = n.Level
		}
		return ast.WalkContinue, nil
	})
	s.spreads(spelled)
	tallies(done)
	for _, x := range swaps {
		if p := x.old.Parent(); p != nil {
			p.ReplaceChild(p, x.old, x.now)
		}
	}
}

// spreads puts spreads written out below the paragraph of their instruction, in the order of the text.
func (s *sheet) spreads(spelled []*marked) {
	last := map[ast.Node]ast.Node{}
	for _, n := range spelled {
		block := blockOf(n)
		if k := block.Kind(); k != ast.KindParagraph && k != ast.KindTextBlock {
			// The markup of an instruction ends where that of the next begins: it is not written on.
			n.html = append(slices.Clip(n.html), spreadHTML(n.text, s.sizes, true)...)
			continue
		}
		after := block
		if l := last[block]; l != nil {
			after = l
		}
		if h := spreadHTML(n.text, s.sizes, false); len(h) > 0 {
			last[block] = &literal{html: h, spread: true}
			block.Parent().InsertAfter(block.Parent(), after, last[block])
		}
	}
}

// tallies puts the steps of a paragraph, or of a whole table, beside it: both in one frame, its spreads with it.
func tallies(done []*marked) {
	for i := 0; i < len(done); {
		block := tallied(done[i])
		var list [][]byte
		for ; i < len(done) && tallied(done[i]) == block; i++ {
			list = append(list, done[i].step)
		}
		var m markup
		m.raw("</div>\n")
		stepList(&m, list)
		m.raw("</div>\n")
		last := block
		for next := block.NextSibling(); next != nil; next = next.NextSibling() {
			if l, ok := next.(*literal); !ok || !l.spread {
				break
			}
			last = next
		}
		parent := block.Parent()
		parent.InsertBefore(parent, block, &literal{html: []byte("<div class=\"step\"><div>\n")})
		parent.InsertAfter(parent, last, &literal{html: m.Bytes()})
	}
}

// tallied is what the steps of an instruction stand beside.
func tallied(n *marked) ast.Node {
	block := blockOf(n)
	for block.Kind() == east.KindTableCell || block.Kind() == east.KindTableRow || block.Kind() == east.KindTableHeader {
		block = block.Parent()
	}
	return block
}

// blockOf is the block whose text an instruction is in.
func blockOf(n ast.Node) ast.Node {
	for n.Type() == ast.TypeInline {
		n = n.Parent()
	}
	return n
}

func inPicture(n ast.Node) bool {
	for p := n.Parent(); p != nil && p.Type() == ast.TypeInline; p = p.Parent() {
		if p.Kind() == ast.KindImage {
			return true
		}
	}
	return false
}

func (s *sheet) inBlock(n *ast.FencedCodeBlock) bool {
	if s.block == nil {
		return false
	}
	at := -1
	if n.Lines().Len() > 0 {
		at = n.Lines().At(0).Start
	} else if n.Info != nil {
		at = n.Info.Segment.Start
	}
	return at >= 0 && at+s.base >= s.block.Span.Start && at+s.base < s.block.Span.End
}

// substituted is a stretch of src with the instructions in it written out by write, the rest by rest.
func (s *sheet) substituted(start, stop int, rest, write func(string) string) string {
	var b strings.Builder
	i := sort.Search(len(s.marks), func(i int) bool { return s.marks[i].Span.Start >= start+s.base })
	for ; i < len(s.marks) && s.marks[i].Span.End <= stop+s.base; i++ {
		m := s.marks[i].Span
		b.WriteString(rest(string(s.src[start : m.Start-s.base])))
		b.WriteString(write(plain(s.texts[i].text())))
		start = m.End - s.base
	}
	b.WriteString(rest(string(s.src[start:stop])))
	return b.String()
}

func same(s string) string { return s }

func (s *sheet) htmlBlock(n *ast.HTMLBlock, src []byte) string {
	start, stop := 0, 0
	if n.Lines().Len() > 0 {
		start, stop = n.Lines().At(0).Start, n.Lines().At(n.Lines().Len()-1).Stop
	}
	if n.HasClosure() {
		if start == 0 && stop == 0 {
			start = n.ClosureLine.Start
		}
		stop = n.ClosureLine.Stop
	}
	return s.raw(start, stop, "<pre class=\"raw\">", "</pre>\n")
}

func (s *sheet) rawHTML(n *ast.RawHTML, src []byte) string {
	if n.Segments.Len() == 0 {
		return ""
	}
	return s.raw(n.Segments.At(0).Start, n.Segments.At(n.Segments.Len()-1).Stop, "<code class=\"raw\">", "</code>")
}

// raw is HTML that the draft has: passed through where that was asked for, else shown as the text it is. A line break is
// harmless, and a comment is not for the reader.
func (s *sheet) raw(start, stop int, open, shut string) string {
	if s.unsafe {
		return s.substituted(start, stop, same, escape)
	}
	t := bytes.TrimSpace(s.src[start:stop])
	if bytes.HasPrefix(t, []byte("<!--")) && bytes.Index(t, []byte("-->")) == len(t)-3 {
		return ""
	}
	if k := strings.ToLower(string(bytes.ReplaceAll(t, []byte(" "), nil))); k == "<br>" || k == "<br/>" {
		return "<br>"
	}
	return open + s.substituted(start, stop, escape, escape) + shut
}

// nodes draws the nodes of our own, and those of goldmark that a page wants otherwise: headings of a table's rows and
// columns say which they are, a wide table moves within its own frame, a box to tick is a sign and not a form.
type nodes struct{}

func (nodes) RegisterFuncs(r renderer.NodeRendererFuncRegisterer) {
	r.Register(kindMarked, func(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			_, _ = w.Write(n.(*marked).html)
		}
		return ast.WalkSkipChildren, nil
	})
	r.Register(kindLiteral, func(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			_, _ = w.Write(n.(*literal).html)
		}
		return ast.WalkSkipChildren, nil
	})
	r.Register(kindLiteralInline, func(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			_, _ = w.WriteString(n.(*literalInline).html)
		}
		return ast.WalkSkipChildren, nil
	})
	r.Register(ast.KindCodeBlock, code)
	r.Register(ast.KindFencedCodeBlock, code)
	r.Register(east.KindTable, table)
	r.Register(east.KindTableHeader, tableHeader)
	r.Register(east.KindTableRow, tableRow)
	r.Register(east.KindTableCell, tableCell)
	r.Register(east.KindTaskCheckBox, func(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			if n.(*east.TaskCheckBox).IsChecked {
				_, _ = w.WriteString(`<span role="img" aria-label="done">☑</span> `)
			} else {
				_, _ = w.WriteString(`<span role="img" aria-label="to do">☐</span> `)
			}
		}
		return ast.WalkContinue, nil
	})
}

func code(w util.BufWriter, src []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		return ast.WalkContinue, nil
	}
	_, _ = w.WriteString("<pre><code>")
	for i := 0; i < n.Lines().Len(); i++ {
		seg := n.Lines().At(i)
		html.DefaultWriter.RawWrite(w, seg.Value(src))
	}
	_, _ = w.WriteString("</code></pre>\n")
	return ast.WalkSkipChildren, nil
}

// wide is the number of columns from which a table may not fit a narrow page.
const wide = 4

// tableFrame opens the frame of a table of so many columns.
func tableFrame(columns int) string {
	if columns >= wide {
		return "<div class=\"frame\" role=\"group\" aria-label=\"Table, moves sideways\" tabindex=\"0\">"
	}
	return "<div class=\"frame\">"
}

func table(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if entering {
		_, _ = w.WriteString(tableFrame(len(n.(*east.Table).Alignments)))
		_, _ = w.WriteString("<table>\n")
		return ast.WalkContinue, nil
	}
	if n.ChildCount() > 1 {
		_, _ = w.WriteString("</tbody>\n")
	}
	_, _ = w.WriteString("</table></div>\n")
	return ast.WalkContinue, nil
}

func tableHeader(w util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if entering {
		_, _ = w.WriteString("<thead>\n<tr>")
		return ast.WalkContinue, nil
	}
	_, _ = w.WriteString("</tr>\n</thead>\n")
	if n.NextSibling() != nil {
		_, _ = w.WriteString("<tbody>\n")
	}
	return ast.WalkContinue, nil
}

func tableRow(w util.BufWriter, _ []byte, _ ast.Node, entering bool) (ast.WalkStatus, error) {
	if entering {
		_, _ = w.WriteString("<tr>")
	} else {
		_, _ = w.WriteString("</tr>\n")
	}
	return ast.WalkContinue, nil
}

func tableCell(w util.BufWriter, _ []byte, node ast.Node, entering bool) (ast.WalkStatus, error) {
	n := node.(*east.TableCell)
	row := n.Parent()
	tag, scope := "td", ""
	switch {
	case !n.HasChildren():
	case row.Kind() == east.KindTableHeader:
		tag, scope = "th", ` scope="col"`
	case row.FirstChild() == node && row.Parent() != nil && row.Parent().FirstChild().FirstChild() != nil && !row.Parent().FirstChild().FirstChild().HasChildren():
		// Where the corner is empty, the first column heads the rows.
		tag, scope = "th", ` scope="row"`
	}
	if !entering {
		_, _ = w.WriteString("</")
		_, _ = w.WriteString(tag)
		_ = w.WriteByte('>')
		return ast.WalkContinue, nil
	}
	_ = w.WriteByte('<')
	_, _ = w.WriteString(tag)
	_, _ = w.WriteString(scope)
	switch n.Alignment {
	case east.AlignLeft:
		_, _ = w.WriteString(` class="left"`)
	case east.AlignRight:
		_, _ = w.WriteString(` class="right"`)
	case east.AlignCenter:
		_, _ = w.WriteString(` class="centre"`)
	}
	_ = w.WriteByte('>')
	return ast.WalkContinue, nil
}

// headMatter is the length of the head between two lines `---` that site builders put before the text.
func headMatter(src []byte) int {
	first := bytes.IndexByte(src, '\n')
	if first < 0 || string(bytes.TrimRight(src[:first], " \t\r")) != "---" {
		return 0
	}
	for at := first + 1; at < len(src); {
		end := bytes.IndexByte(src[at:], '\n')
		if end < 0 {
			end = len(src) - at - 1
		}
		line := string(bytes.TrimRight(src[at:at+end+1], " \t\r\n"))
		if line == "---" || line == "..." {
			return at + end + 1
		}
		if at == first+1 && !strings.Contains(line, ":") {
			return 0
		}
		at += end + 1
	}
	return 0
}

// ids gives headings the names that links lead to: their words in lower case, joined by hyphens. Headings of the same
// words are counted, and each count is remembered: asking from the first again takes the square of their number.
type ids struct{ next map[string]int }

func (x *ids) Generate(value []byte, _ ast.NodeKind) []byte {
	var b strings.Builder
	tie, gap := false, false
	for _, r := range string(value) {
		switch {
		case r == '|':
			tie = true
		case r == '}':
			tie = false
		case tie:
		case unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_':
			if gap && b.Len() > 0 {
				b.WriteByte('-')
			}
			gap = false
			b.WriteRune(unicode.ToLower(r))
		case unicode.IsSpace(r) || r == '-':
			gap = true
		}
	}
	base := b.String()
	if base == "" {
		base = "heading"
	}
	id := base
	for {
		n := x.next[base]
		x.next[base]++
		if n == 0 {
			break
		}
		id = base + "-" + strconv.Itoa(n)
		if _, taken := x.next[id]; !taken {
			x.next[id] = 1
			break
		}
	}
	return []byte(id)
}

func (x *ids) Put(value []byte) { x.next[string(value)]++ }

func parseSheet(s *sheet) ast.Node {
	pc := parser.NewContext(parser.WithIDs(&ids{next: map[string]int{}}))
	pc.Set(sheetKey, s)
	return markdown().Parser().Parse(text.NewReader(s.src), parser.WithContext(pc))
}
