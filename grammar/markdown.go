package grammar

import (
	"bytes"
	"strings"
	"sync"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	extast "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// foundMark is a marked instruction as Markdown shows it: where it stands and the pieces of its inside.
type foundMark struct {
	span    Span
	inside  []Span // between the braces, line by line, without the markers of quotations and lists
	heading int
	table   bool

	paragraph int
	inHeading bool
}

// fence is a fenced block of one of the three kinds.
type fence struct {
	kind BlockKind
	span Span
	body Span
	said []statement
	open bool // no closing fence
}

// prosePiece is a run of prose between marks and code, for what is looked for in prose.
type prosePiece struct {
	span      Span
	paragraph int // pieces of one paragraph share a number
	heading   bool
	under     int  // index of the heading it stands under, -1 without one
	table     bool // it is a table's
	breaks    bool // a mark or code stands before it on the way from the piece before
}

// braceNode stands in Markdown's tree for a marked instruction, or for template text that is passed over.
type braceNode struct {
	ast.BaseInline
	mark *foundMark // nil for template text
}

var kindBrace = ast.NewNodeKind("Brace")

func (*braceNode) Kind() ast.NodeKind         { return kindBrace }
func (n *braceNode) Dump(src []byte, lvl int) { ast.DumpHelper(n, src, lvl, nil, nil) }

// braceParser is the inline parser that sees `{`. What it cannot use it reports, through the parser's context.
type braceParser struct{}

func (braceParser) Trigger() []byte { return []byte{'{'} }

var braceKey = parser.NewContextKey()

// braceReport gathers what the inline parser wants said.
type braceReport struct {
	base  int
	src   []byte
	torn  []torn
	noEnd [2]int // how far it is known that no template text closes, by kind
}

// torn is a brace that did not close in its paragraph.
type torn struct {
	at    int // of the brace
	end   int // where the search ended
	inner bool
	long  bool
}

func (braceParser) Parse(parent ast.Node, block text.Reader, pc parser.Context) ast.Node {
	rep, _ := pc.Get(braceKey).(*braceReport)
	if rep == nil {
		return nil
	}
	src := block.Source()
	_, seg := block.PeekLine()
	start := seg.Start
	if start+1 < seg.Stop && (src[start+1] == '{' || src[start+1] == '%') {
		return rep.template(block, src, start)
	}
	m := &foundMark{heading: -1}
	size := 0
	end := start
	for first := true; ; first = false {
		line, seg := block.PeekLine()
		if line == nil || seg.Start >= seg.Stop {
			break
		}
		from := seg.Start
		if first {
			from++
		}
		// An indentation that a list asks for is not in the text, but may be in the segment.
		i := from
		for i < seg.Stop {
			switch src[i] {
			case '\\':
				if i+1 < seg.Stop && isAsciiPunct(src[i+1]) {
					i++
				}
			case '{':
				rep.torn = append(rep.torn, torn{at: start + rep.base, end: i + rep.base, inner: true})
				return nil
			case '}':
				if size+i-from > MaxMark {
					rep.torn = append(rep.torn, torn{at: start + rep.base, end: i + rep.base, long: true})
					return nil
				}
				m.inside = append(m.inside, Span{from + rep.base, i + rep.base})
				m.span = Span{start + rep.base, i + 1 + rep.base}
				block.Advance(i + 1 - seg.Start)
				return &braceNode{mark: m}
			}
			i++
		}
		m.inside = append(m.inside, Span{from + rep.base, seg.Stop + rep.base})
		end = seg.Stop
		if size += seg.Stop - from; size > MaxMark {
			rep.torn = append(rep.torn, torn{at: start + rep.base, end: end + rep.base, long: true})
			return nil
		}
		block.AdvanceLine()
	}
	rep.torn = append(rep.torn, torn{at: start + rep.base, end: end + rep.base})
	return nil
}

// template passes over `{{…}}` and `{%…%}`, which belong to whoever builds the site.
func (rep *braceReport) template(block text.Reader, src []byte, start int) ast.Node {
	closer, kind := []byte("}}"), 0
	if src[start+1] == '%' {
		closer, kind = []byte("%}"), 1
	}
	if start < rep.noEnd[kind] {
		return nil
	}
	skip := 2
	size := 0
	for {
		line, seg := block.PeekLine()
		if line == nil || seg.Start+skip > seg.Stop {
			rep.noEnd[kind] = max(rep.noEnd[kind], seg.Start)
			return nil
		}
		if i := bytes.Index(src[seg.Start+skip:seg.Stop], closer); i >= 0 {
			block.Advance(skip + i + 2)
			return &braceNode{}
		}
		if size += seg.Stop - seg.Start; size > MaxMark {
			rep.noEnd[kind] = seg.Stop
			return nil
		}
		skip = 0
		block.AdvanceLine()
	}
}

var markdown = sync.OnceValue(func() parser.Parser {
	md := goldmark.New(goldmark.WithExtensions(extension.Table, extension.Strikethrough, extension.TaskList, extension.Linkify),
		goldmark.WithParserOptions(parser.WithInlineParsers(util.Prioritized(braceParser{}, 50))))
	return md.Parser()
})

// readable is the text that Markdown is given: the same bytes in the same places, but for the front matter of site
// builders (blanked), lone carriage returns (made line ends), and a last line end where it is missing.
func readable(src []byte) (text []byte, base int) {
	if bytes.HasPrefix(src, bom) {
		base = len(bom)
	}
	out := make([]byte, len(src)-base, len(src)-base+1)
	copy(out, src[base:])
	for i, b := range out {
		if b == '\r' && (i+1 == len(out) || out[i+1] != '\n') {
			out[i] = '\n'
		}
	}
	for i := frontMatter(out) - 1; i >= 0; i-- {
		if out[i] != '\n' && out[i] != '\r' {
			out[i] = ' '
		}
	}
	if n := len(out); n > 0 && out[n-1] != '\n' {
		out = append(out, '\n')
	}
	return out, base
}

// frontMatter is the length of a leading `---` block, 0 where there is none.
func frontMatter(src []byte) int {
	line, rest, ok := bytes.Cut(src, []byte("\n"))
	if !ok || strings.TrimRight(string(line), " \t\r") != "---" {
		return 0
	}
	at := len(line) + 1
	for n := 0; len(rest) > 0 && n < 200; n++ {
		line, rest, _ = bytes.Cut(rest, []byte("\n"))
		at = min(at+len(line)+1, len(src))
		s := strings.TrimRight(string(line), " \t\r")
		if s == "---" || s == "..." {
			return at
		}
		if s == "" || s[0] != ' ' && s[0] != '-' && s[0] != '#' && !strings.Contains(s, ":") {
			return 0 // not `key: value` lines: a line across the page and prose
		}
	}
	return 0
}

// find lets Markdown say where instructions, blocks and headings are.
func (p *fileParser) find() {
	text0, base := readable(p.f.Src)
	rep := &braceReport{base: base, src: text0}
	pc := parser.NewContext()
	pc.Set(braceKey, rep)
	doc := markdown().Parse(text.NewReader(text0), parser.WithContext(pc))
	w := &walker{p: p, src: text0, base: base, heading: -1}
	w.blocks(doc, 0)
	p.reportTorn(rep)
}

type walker struct {
	p         *fileParser
	src       []byte
	base      int
	heading   int
	paragraph int
	table     bool
	inHeading bool
	breaks    bool
	text      *strings.Builder // a heading's plain text
}

// clip keeps a span inside the file: the text that Markdown saw may have one line end more.
func (w *walker) clip(a, b int) Span {
	n := len(w.p.f.Src)
	return Span{min(a+w.base, n), min(b+w.base, n)}
}

func (w *walker) blocks(n ast.Node, depth int) {
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		switch c := c.(type) {
		case *ast.FencedCodeBlock:
			w.fence(c)
			continue
		case *ast.CodeBlock:
			if l := c.Lines(); l.Len() > 0 {
				w.p.code = append(w.p.code, w.clip(l.At(0).Start, l.At(l.Len()-1).Stop))
			}
			continue
		case *ast.HTMLBlock, *ast.LinkReferenceDefinition:
			continue
		case *ast.Heading:
			h := Heading{Level: c.Level}
			if l := c.Lines(); l.Len() > 0 {
				h.Span = w.clip(l.At(0).Start, l.At(l.Len()-1).Stop)
				h.Span.End = h.Span.Start + len(bytes.TrimRight(w.p.f.Src[h.Span.Start:h.Span.End], " \t\r\n"))
			} else if c.Pos() >= 0 {
				h.Span = w.clip(c.Pos(), c.Pos())
			}
			w.p.f.Headings = append(w.p.f.Headings, h)
			w.heading = len(w.p.f.Headings) - 1
			w.text = &strings.Builder{}
			w.inHeading = true
			w.paragraph++
			w.inlines(c)
			w.inHeading = false
			w.p.f.Headings[w.heading].Text = strings.Join(strings.Fields(w.text.String()), " ")
			w.text = nil
			continue
		}
		if c.Type() == ast.TypeBlock && c.FirstChild() != nil && c.FirstChild().Type() == ast.TypeInline {
			w.paragraph++
			w.breaks = false
			table := w.table
			w.table = c.Kind() == extast.KindTableCell
			w.inlines(c)
			w.table = table
			continue
		}
		w.blocks(c, depth+1)
	}
}

func (w *walker) inlines(n ast.Node) {
	for c := n.FirstChild(); c != nil; c = c.NextSibling() {
		switch c := c.(type) {
		case *braceNode:
			w.breaks = true
			if c.mark != nil {
				c.mark.heading = w.heading
				c.mark.table = w.table
				c.mark.paragraph, c.mark.inHeading = w.paragraph, w.inHeading
				c.mark.span = Span{c.mark.span.Start, min(c.mark.span.End, len(w.p.f.Src))}
				w.p.found = append(w.p.found, c.mark)
			}
			if w.text != nil {
				w.text.WriteByte(' ')
			}
		case *ast.Text:
			s := w.clip(c.Segment.Start, c.Segment.Stop)
			if w.text != nil {
				writeUnescaped(w.text, w.p.text[s.Start:s.End])
				if c.SoftLineBreak() || c.HardLineBreak() {
					w.text.WriteByte(' ')
				}
			}
			if s.End > s.Start {
				w.p.prose = append(w.p.prose, prosePiece{span: s, paragraph: w.paragraph, heading: w.inHeading, under: w.heading, table: w.table, breaks: w.breaks})
				w.breaks = false
			}
		case *ast.CodeSpan:
			w.breaks = true
			if w.text != nil {
				for t := c.FirstChild(); t != nil; t = t.NextSibling() {
					if t, ok := t.(*ast.Text); ok {
						w.text.Write(t.Segment.Value(w.src))
					}
				}
			}
		case *ast.RawHTML, *ast.AutoLink:
			w.breaks = true
		default:
			w.inlines(c)
		}
	}
}

func writeUnescaped(b *strings.Builder, s string) {
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && i+1 < len(s) && isAsciiPunct(s[i+1]) {
			continue
		}
		b.WriteByte(s[i])
	}
}

var blockKinds = map[string]BlockKind{"draft": DraftBlock, "swatch": SwatchBlock, "body": BodyBlock}

func (w *walker) fence(c *ast.FencedCodeBlock) {
	if c.Info == nil {
		return
	}
	word, _, _ := strings.Cut(strings.TrimSpace(string(c.Info.Segment.Value(w.src))), " ")
	kind, ok := blockKinds[strings.ToLower(word)]
	if !ok {
		return
	}
	f := &fence{kind: kind}
	src := w.src
	i := min(c.Info.Segment.Start, len(src))
	for i > 0 && (src[i-1] == ' ' || src[i-1] == '\t') {
		i--
	}
	mark := byte('`')
	if i > 0 {
		mark = src[i-1]
	}
	length := 0
	for i > 0 && src[i-1] == mark {
		i--
		length++
	}
	end := i + bytes.IndexByte(append(src[i:len(src):len(src)], '\n'), '\n')
	body := min(end+1, len(src))
	bodyEnd := body
	var lines []Span
	for k := range c.Lines().Len() {
		s := c.Lines().At(k)
		lines = append(lines, w.clip(s.Start, s.Stop))
		bodyEnd = max(bodyEnd, s.Stop)
	}
	f.body = w.clip(body, bodyEnd)
	f.said = w.p.statements(lines)
	// the closing fence is on the next line, behind the markers of quotations and lists
	stop := bodyEnd
	f.open = true
	if bodyEnd < len(src) {
		line := src[bodyEnd:]
		if k := bytes.IndexByte(line, '\n'); k >= 0 {
			line = line[:k]
		}
		t := bytes.TrimLeft(line, " \t>")
		run := 0
		for run < len(t) && t[run] == mark {
			run++
		}
		if run >= length && len(bytes.TrimSpace(t[run:])) == 0 {
			stop = bodyEnd + len(line) - len(t) + run
			f.open = false
		}
	}
	f.span = w.clip(i, stop)
	w.p.fences = append(w.p.fences, f)
}

// reportTorn words what happened to braces that did not close.
func (p *fileParser) reportTorn(rep *braceReport) {
	src := p.f.Src
	seen := map[int]bool{}
	for _, t := range rep.torn {
		if seen[t.at] || len(*p.diags) >= maxReports {
			continue
		}
		seen[t.at] = true
		d := Diagnostic{Severity: Error, Span: Span{t.at, t.at + 1}, Summary: "this brace is never closed",
			WayOut: `close it with }, or write \{ for a brace that is only a brace`}
		end := min(t.end, len(src))
		lineEnd := t.at + indexOr(src[t.at:], '\n')
		switch {
		case t.inner:
			d.Related = []Related{{Span{end, min(end+1, len(src))}, "another brace opens here"}}
			d.Detail = "Another brace opens before it closes; marked instructions do not stand in one another."
		case t.long:
			d.Summary = "this marked instruction is too long"
			d.Detail = "At most " + itoa(MaxMark) + " bytes are read between { and }."
		case end < lineEnd && bytes.IndexByte(src[end:lineEnd], '|') >= 0 && bytes.IndexByte(src[end:lineEnd], '}') >= 0:
			bar := end + bytes.IndexByte(src[end:lineEnd], '|')
			d.Summary = "a bar in a table tears this brace"
			d.Detail = "In a table | begins a new cell, even inside braces."
			d.WayOut = `write \| in tables`
			d.Related = []Related{{Span{bar, bar + 1}, "the bar"}}
		default:
			p.tornByLine(&d, end)
		}
		p.report(d)
	}
}

// maxReports bounds what is said of one file; past it more would help no one.
const maxReports = 200

func indexOr(b []byte, c byte) int {
	if i := bytes.IndexByte(b, c); i >= 0 {
		return i
	}
	return len(b)
}

// tornByLine looks at the line on which the paragraph ended.
func (p *fileParser) tornByLine(d *Diagnostic, end int) {
	src := p.f.Src
	i := end
	if i > 0 && i <= len(src) && src[i-1] != '\n' {
		i += indexOr(src[i:], '\n') + 1
	}
	if i >= len(src) {
		return
	}
	line := src[i : i+indexOr(src[i:], '\n')]
	t := bytes.TrimLeft(line, " \t>")
	at := i + len(line) - len(t)
	t = bytes.TrimRight(t, " \t\r")
	close := bytes.IndexByte(src[i:min(i+MaxMark, len(src))], '}')
	if close < 0 || bytes.IndexByte(src[i:i+close], '{') >= 0 {
		return
	}
	rel := func(n int, text string) {
		d.Related = []Related{{Span{at, min(at+n, len(src))}, text}}
	}
	switch {
	case len(t) == 0:
		d.Summary = "an empty line tears this brace"
		d.Detail = "A paragraph ends at an empty line, and a marked instruction with it."
		d.WayOut = "take the empty line out"
		d.Related = []Related{{Span{i, i}, "the empty line"}}
	case (t[0] == '-' || t[0] == '+' || t[0] == '*') && (len(t) == 1 || t[1] == ' ' || t[1] == '\t'):
		d.Summary = "a list marker at the start of a line tears this brace"
		d.Detail = "Markdown reads `" + string(t[:1]) + "` at the start of a line as the beginning of a list."
		d.WayOut = "break the line elsewhere, or write \\" + string(t[:1])
		rel(1, "the list marker")
	case isDigit(t[0]) && bytes.IndexAny(t, ".)") > 0 && bytes.IndexAny(t, ".)") < 10:
		n := bytes.IndexAny(t, ".)")
		d.Summary = "a list marker at the start of a line tears this brace"
		d.Detail = "Markdown reads `" + string(t[:n+1]) + "` at the start of a line as the beginning of a list."
		d.WayOut = "break the line elsewhere"
		rel(n+1, "the list marker")
	case t[0] == '#':
		d.Summary = "a heading tears this brace"
		rel(1, "the heading")
	default:
		d.Detail = "The paragraph ends before it is closed."
		d.Related = []Related{{Span{i + close, i + close + 1}, "the next closing brace stands in another paragraph"}}
	}
}
