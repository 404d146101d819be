package grammar

import (
	"math/big"
	"strings"
)

// Plain is a text read for its words: what a pattern says before anybody has put braces into it, or where they are still
// missing. Marks and blocks that are there already are in File.
type Plain struct {
	File    *File
	Prose   []Stretch
	Fenced  []Span // text that Markdown shows as code, where nothing is read
	Top     int    // where text begins, behind a byte-order mark and front matter
	reading *fileParser
}

// Stretch is one paragraph, table cell or heading, as words.
type Stretch struct {
	Span    Span
	Heading bool // it is a heading
	Under   int  // index in File.Headings of the heading it stands under (or is), -1 without one
	Table   bool
	Words   []Token
}

// TokenKind is what a piece of text is before the vocabulary is asked.
type TokenKind int

const (
	WordToken   TokenKind = iota
	NumberToken           // in figures, words or fractions; ordinals and `twice` too
	SignToken
	MarkToken  // a marked instruction
	BreakToken // code or other text that is not read
)

// Token is one word, number or sign of running text.
type Token struct {
	Kind    TokenKind
	Span    Span
	Key     string   // lower case; signs that look alike are one (`–` is `-`)
	Val     *big.Rat // of a number; nil where it has too many digits
	Spelled bool     // a number in words
	Ordinal bool     // `4th`
	Times   bool     // `twice`
	Blank   bool     // white space stands before it
	Mark    *Mark    // of a MarkToken
	raw     raw
}

// ReadPlain reads a text for its words. The Plain is nil only where the text cannot be read at all; other errors, in marks and
// blocks that are there already, come with it.
func ReadPlain(name string, src []byte) (*Plain, Diagnostics) {
	f := &File{Name: name, Src: src}
	f.lines = lineStarts(src)
	var diags Diagnostics
	if d := unreadable(f); d != nil {
		return nil, Diagnostics{*d}
	}
	p := &fileParser{f: f, text: string(src), diags: &diags, names: newNames()}
	p.find()
	if d := p.laterEdition(); d != nil {
		return nil, Diagnostics{*d}
	}
	p.readBlocks()
	p.collectNames()
	p.readMarks()
	pl := &Plain{File: f, reading: p, Fenced: p.code}
	pl.stretches()
	if text, base := readable(src); base+frontMatter(text) <= len(src) {
		pl.Top = base + frontMatter(text)
	}
	diags.Sort()
	return pl, diags
}

// stretches puts the prose and the marks of each paragraph together again.
func (pl *Plain) stretches() {
	p := pl.reading
	found := 0
	for i := 0; i < len(p.prose) || found < len(p.found); {
		// the next paragraph is that of the next piece or the next mark
		paragraph := 0
		switch {
		case i >= len(p.prose):
			paragraph = p.found[found].paragraph
		case found >= len(p.found):
			paragraph = p.prose[i].paragraph
		default:
			paragraph = min(p.found[found].paragraph, p.prose[i].paragraph)
		}
		s := Stretch{Under: -1}
		var spans []Span
		flush := func() {
			for _, r := range p.glance(spans, false) {
				t := tokenOf(r)
				if r.kind == rawPunct && r.span.Start > 0 && escaped(p.text[:r.span.Start]) {
					t.Span.Start-- // the backslash of `\*` belongs to it
				}
				s.Words = append(s.Words, t)
			}
			spans = spans[:0]
		}
		for {
			piece := i < len(p.prose) && p.prose[i].paragraph == paragraph
			mark := found < len(p.found) && p.found[found].paragraph == paragraph
			if mark && (!piece || p.found[found].span.Start < p.prose[i].span.Start) {
				flush()
				m := p.found[found]
				s.Words = append(s.Words, Token{Kind: MarkToken, Span: m.span, Blank: true, Mark: p.f.Marks[found]})
				s.Under, s.Table, s.Heading = m.heading, m.table, m.inHeading
				found++
				continue
			}
			if !piece {
				break
			}
			x := p.prose[i]
			if x.breaks && len(spans) > 0 {
				flush()
				s.Words = append(s.Words, Token{Kind: BreakToken, Span: Span{x.span.Start, x.span.Start}, Blank: true})
			}
			spans = append(spans, x.span)
			s.Heading, s.Under, s.Table = x.heading, x.under, x.table
			i++
		}
		flush()
		if n := len(s.Words); n > 0 {
			s.Span = Span{s.Words[0].Span.Start, s.Words[n-1].Span.End}
			pl.Prose = append(pl.Prose, s)
		}
	}
}

func tokenOf(r raw) Token {
	t := Token{Span: r.span, Key: strings.Clone(r.key), Val: r.val, Spelled: r.spelled, Ordinal: r.ordinal, Times: r.times, Blank: r.blank, raw: r}
	switch r.kind {
	case rawNum:
		t.Kind = NumberToken
	case rawPunct:
		t.Kind = SignToken
	}
	return t
}

// Read reads some words of a stretch as a phrase of the notation, as if they stood in braces. It is nil where they are none.
func (pl *Plain) Read(words []Token) *Mark {
	if len(words) == 0 {
		return nil
	}
	rs := make([]raw, 0, len(words))
	for _, w := range words {
		if w.Kind > SignToken {
			return nil
		}
		rs = append(rs, w.raw)
	}
	p := pl.reading
	var diags Diagnostics
	was := p.diags
	p.diags = &diags
	defer func() { p.diags = was }()
	span := Span{rs[0].span.Start, rs[len(rs)-1].span.End}
	if tooLongNumber(rs) != nil {
		return nil
	}
	if deep, _ := bracketDepth(rs); deep > MaxNesting || span.End-span.Start > MaxMark {
		return nil
	}
	m := &Mark{Span: span, PhraseSpan: span, Heading: -1}
	p.readPhrase(m, rs)
	if len(diags) > 0 || m.Phrase == nil {
		return nil
	}
	return m
}

// Name makes a name known, as that of a place, a number or held work.
func (pl *Plain) Name(key string) { pl.reading.names.add(Key(key), aLabel) }

// Fabric makes a fabric's name known.
func (pl *Plain) Fabric(key string) { pl.reading.names.add(Key(key), aFabric) }

// smallWords are words that an instruction can begin with beside those of the vocabulary.
var smallWords = map[string]bool{"from": true, "in": true, "at": true, "to": true, "until": true, "till": true, "for": true, "over": true, "on": true, "with": true, "using": true,
	"starting": true, "beginning": true, "each": true, "every": true, "after": true, "when": true, "c": true, "b": true}

// Begins says whether an instruction can begin with a word.
func Begins(key string) bool { return len(vocabulary[key]) > 0 || smallWords[key] }

// UnitOf is the unit that a word stands for, NoUnit where it is none.
func UnitOf(key string) Unit { return unitWords[key] }

// OfStitches says whether a word may stand between a number and its stitches to say which they are: `56 held sts`.
func OfStitches(key string) bool { return stitchesOf[key] }

// RowText is how many stitches the text of a row, or of a part of it (`k2, p2`), takes up and makes; ok is false where it holds
// something that is not understood.
func (pl *Plain) RowText(words []Token) (takes, makes int64, ok bool) {
	rs := make([]raw, 0, len(words))
	for _, w := range words {
		if w.Kind > SignToken {
			return 0, 0, false
		}
		rs = append(rs, w.raw)
	}
	does, _, bad := rowText(rs)
	return does.takes, does.makes, bad < 0
}
