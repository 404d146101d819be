package grammar

import (
	"bytes"
	"math/big"
	"slices"
	"sort"
	"strconv"
	"unicode/utf8"
)

// Limits of what is read. A draft that passes one is refused with a message that names it: the time that Markdown
// takes grows with the square of some of these.
const (
	// MaxSource is the largest source in bytes.
	MaxSource = 10 << 20
	// MaxNesting is how deep quotations and lists may stand in one another, and brackets in one marked instruction.
	MaxNesting = 40
	// MaxMark is the longest marked instruction, and the longest statement of a block, in bytes.
	MaxMark = 4 << 10
	// MaxParagraph is the most link brackets, backticks and the like that one paragraph may have of a kind.
	MaxParagraph = 1000
	// MaxColumns is the most columns that a table may have.
	MaxColumns = 200
)

// Parse reads a Markdown source: a draft, a swatch card or a body card. The name is for the reader only. The File is
// never nil; where a Diagnostic has severity Error, something in it could not be read and is left out (a Mark's Phrase
// may then be nil). src is kept, not copied, and never changed. Diagnostics stand in the order of the source.
func Parse(name string, src []byte) (*File, Diagnostics) {
	f := &File{Name: name, Src: src}
	f.lines = lineStarts(src)
	var diags Diagnostics
	if d := unreadable(f); d != nil {
		return f, Diagnostics{*d}
	}
	p := &fileParser{f: f, text: string(src), diags: &diags, names: newNames()}
	p.find()
	if d := p.laterEdition(); d != nil {
		return f, Diagnostics{*d}
	}
	p.readBlocks()
	p.collectNames()
	p.readMarks()
	p.readProse()
	diags.Sort()
	if len(diags) == 0 {
		return f, nil
	}
	return f, diags
}

// Edition is the newest edition of the notation that is read.
const Edition = 1

// laterEdition refuses a draft that says it is written in a newer notation: one message, and not one for each of its
// novelties.
func (p *fileParser) laterEdition() *Diagnostic {
	for _, fe := range p.fences {
		if fe.kind != DraftBlock {
			continue
		}
		for _, s := range fe.said {
			if s.span.End-s.span.Start > 40 {
				continue
			}
			rs := s.rs
			if len(rs) != 2 || rs[0].key != "notation" || rs[1].val == nil || rs[1].val.Cmp(big.NewRat(Edition, 1)) <= 0 {
				continue
			}
			return &Diagnostic{Severity: Error, Span: s.span, Summary: "this draft is written in edition " + p.f.Text(rs[1].span) + " of the notation",
				Detail: "Edition " + strconv.Itoa(Edition) + " is the newest that is read here.", WayOut: "use a newer version of the program"}
		}
	}
	return nil
}

func unreadable(f *File) *Diagnostic {
	src := f.Src
	if len(src) > MaxSource {
		return &Diagnostic{Severity: Error, Summary: "the file is too large", Detail: strconv.Itoa(len(src)) + " bytes; at most " + strconv.Itoa(MaxSource) + " are read.", WayOut: "split the draft"}
	}
	if !utf8.Valid(src) {
		i := 0
		for i < len(src) {
			r, w := utf8.DecodeRune(src[i:])
			if r == utf8.RuneError && w == 1 {
				break
			}
			i += w
		}
		return &Diagnostic{Severity: Error, Span: Span{i, i + 1}, Summary: "the text is not UTF-8",
			Detail: "The byte here, hexadecimal " + strconv.FormatUint(uint64(src[i]), 16) + ", begins no character.", WayOut: "save the file as UTF-8"}
	}
	return tooDeep(src)
}

// tooDeep scans once for what would take Markdown more than proportional time.
func tooDeep(src []byte) *Diagnostic {
	type count struct {
		what string
		n    int
	}
	counts := [...]count{{"brackets `[`", 0}, {"links `](`", 0}, {"runs of backticks", 0}, {"marks of emphasis", 0}, {"angle brackets `<`", 0}}
	refuse := func(at int, what, detail string) *Diagnostic {
		return &Diagnostic{Severity: Error, Span: Span{at, min(at+1, len(src))}, Summary: what, Detail: detail, WayOut: "break it up"}
	}
	for i := 0; i < len(src); {
		end := bytes.IndexByte(src[i:], '\n')
		if end < 0 {
			end = len(src)
		} else {
			end += i
		}
		line := src[i:end]
		depth, indent := 0, 0
		j := 0
	markers:
		for j < len(line) {
			switch c := line[j]; {
			case c == ' ':
				indent++
				j++
			case c == '\t':
				indent += 4
				j++
			case c == '>':
				depth++
				j++
			case (c == '-' || c == '+' || c == '*') && (j+1 == len(line) || line[j+1] == ' ' || line[j+1] == '\t'):
				depth++
				j++
			case isDigit(c):
				k := j
				for k < len(line) && isDigit(line[k]) {
					k++
				}
				if k-j > 9 || k+1 >= len(line) || line[k] != '.' && line[k] != ')' || line[k+1] != ' ' && line[k+1] != '\t' {
					break markers
				}
				depth++
				j = k + 1
			default:
				break markers
			}
		}
		if len(bytes.TrimSpace(line[j:])) == 0 && bytes.Count(line, []byte("-"))+bytes.Count(line, []byte("*")) == depth && !bytes.ContainsRune(line, '>') {
			depth = 0 // `* * *` is a line across the page
		}
		if d := depth + indent/2; depth > MaxNesting || d > 4*MaxNesting && depth > 0 {
			return refuse(i, "quotations and lists are nested too deep", "At most "+strconv.Itoa(MaxNesting)+" are read.")
		}
		if len(bytes.TrimSpace(line)) == 0 {
			for k := range counts {
				counts[k].n = 0
			}
		}
		if bytes.Count(line, []byte("|")) > MaxColumns && len(bytes.Trim(line, "|:- \t\r>")) == 0 {
			return refuse(i, "a table has too many columns", "At most "+strconv.Itoa(MaxColumns)+" are read.")
		}
		for k := j; k < len(line); k++ {
			switch line[k] {
			case '\\':
				k++
			case '[':
				counts[0].n++
			case ']':
				if k+1 < len(line) && line[k+1] == '(' {
					counts[1].n++
				}
			case '`':
				counts[2].n++
				for k+1 < len(line) && line[k+1] == '`' {
					k++
				}
			case '*', '_', '~':
				counts[3].n++
				for k+1 < len(line) && line[k+1] == line[k] {
					k++
				}
			case '<':
				counts[4].n++
			}
		}
		for k, c := range counts {
			limit := MaxParagraph
			if k == 3 {
				limit *= 10
			}
			if c.n > limit {
				return refuse(i, "one paragraph has too many "+c.what, "At most "+strconv.Itoa(limit)+" are read between two blank lines.")
			}
		}
		i = end + 1
	}
	return nil
}

func lineStarts(src []byte) []int {
	out := []int{0}
	for i, b := range src {
		if b == '\n' || b == '\r' && (i+1 == len(src) || src[i+1] != '\n') {
			out = append(out, i+1)
		}
	}
	return out
}

// Position gives the line and the column of a byte offset, both counted from 1. Columns count characters (Unicode code
// points), a tab as one; a byte-order mark at the very start is not counted. An offset outside the file is brought to
// its nearest end.
func (f *File) Position(offset int) (line, column int) {
	if len(f.lines) == 0 {
		f.lines = lineStarts(f.Src)
	}
	offset = max(0, min(offset, len(f.Src)))
	line = sort.SearchInts(f.lines, offset+1) - 1
	start := f.lines[line]
	if line == 0 && bytes.HasPrefix(f.Src, bom) {
		start = min(len(bom), offset)
	}
	return line + 1, utf8.RuneCount(f.Src[start:offset]) + 1
}

var bom = []byte("\ufeff")

// Offset is the byte offset of a line and column as Position counts them; ok is false where the file has no such place.
func (f *File) Offset(line, column int) (offset int, ok bool) {
	if len(f.lines) == 0 {
		f.lines = lineStarts(f.Src)
	}
	if line < 1 || line > len(f.lines) || column < 1 {
		return 0, false
	}
	i, end := f.lines[line-1], len(f.Src)
	if line < len(f.lines) {
		end = f.lines[line]
	}
	if line == 1 && bytes.HasPrefix(f.Src, bom) {
		i = len(bom)
	}
	for c := 1; c < column; c++ {
		if i >= end {
			return 0, false
		}
		_, w := utf8.DecodeRune(f.Src[i:])
		i += w
	}
	return i, i <= end
}

// Line is the text of a line counted from 1, without its end.
func (f *File) Line(line int) string {
	if len(f.lines) == 0 {
		f.lines = lineStarts(f.Src)
	}
	if line < 1 || line > len(f.lines) {
		return ""
	}
	end := len(f.Src)
	if line < len(f.lines) {
		end = f.lines[line]
	}
	s := f.Src[f.lines[line-1]:end]
	if line == 1 {
		s = bytes.TrimPrefix(s, bom)
	}
	return string(bytes.TrimRight(s, "\r\n"))
}

// Text is the source's own text of a span; a span outside the file is cut to it.
func (f *File) Text(s Span) string {
	a := max(0, min(s.Start, len(f.Src)))
	b := max(a, min(s.End, len(f.Src)))
	return string(f.Src[a:b])
}

type fileParser struct {
	f      *File
	text   string // Src once more, so that words are cut from it and not copied
	diags  *Diagnostics
	names  *names
	found  []*foundMark
	fences []*fence
	prose  []prosePiece
	code   []Span // what an indentation makes code
	cut    []scanned
	toks   []tok // room for the tokens of one phrase or its ties: once they are read, no one needs them
	raws   []raw // room for the tokens of one stretch of text
	kept   []raw // room for those that are kept
}

// scan is the tokens of some pieces of the text.
func (p *fileParser) scan(pieces []Span, expr bool) []raw {
	rs := p.glance(pieces, expr)
	if cap(p.kept)-len(p.kept) < len(rs) {
		p.kept = make([]raw, 0, max(len(rs), 128))
	}
	at := len(p.kept)
	p.kept = append(p.kept, rs...)
	return slices.Clip(p.kept[at:])
}

// glance is the tokens of some pieces of the text, to be done with before the next are scanned.
func (p *fileParser) glance(pieces []Span, expr bool) []raw {
	p.raws = scanRaw(p.raws[:0], p.text, pieces, expr)
	return p.raws
}

func (p *fileParser) report(d Diagnostic) { *p.diags = append(*p.diags, d) }
