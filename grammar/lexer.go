package grammar

import (
	"io"
	"math/big"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/alecthomas/participle/v2/lexer"
)

type tokenType = lexer.TokenType

// Token types of phrases, ties and blocks. Words of the trade arrive in the grammars as what they do, not as they are
// spelled, so that the grammars stay small; the spelling is kept by place.
const (
	tEOF tokenType = -(iota + 1)
	tNum
	tUnit
	tTimes
	tMore
	tOpen
	tClose
	tSep
	tPlus
	tMinus
	tStar
	tSlash
	tComma
	tAnd
	tThen
	tEvery
	tNext
	tFoll
	tLast
	tAlt
	tSide
	tRel
	tName
	tVerb
	tFlag
	tFill
	tWord
	tPercent
	tEquals
	tColon
	tParenOpen
	tParenClose
	tKey
	tTopPlus // a plus outside brackets: it joins parts
	tJoint   // what the phrase grammar calls a comma, `and`, `then` and a plus
	tSaid    // how words are meant
	tWhen    // what it calls `every`, `next`, `following`, `last`, `other`, `RS`
)

var tokenNames = map[string]tokenType{
	"EOF": tEOF, "Num": tNum, "Unit": tUnit, "Times": tTimes, "More": tMore, "Open": tOpen, "Close": tClose, "Sep": tSep,
	"Plus": tPlus, "Minus": tMinus, "Star": tStar, "Slash": tSlash, "Comma": tComma, "And": tAnd, "Then": tThen,
	"Every": tEvery, "Next": tNext, "Foll": tFoll, "Last": tLast, "Alt": tAlt, "Side": tSide, "Rel": tRel, "Name": tName,
	"Verb": tVerb, "Flag": tFlag, "Fill": tFill, "Word": tWord, "Percent": tPercent, "Equals": tEquals, "Colon": tColon,
	"ParenOpen": tParenOpen, "ParenClose": tParenClose, "Key": tKey, "Joint": tJoint, "When": tWhen, "Said": tSaid,
}

// tok is one token.
type tok struct {
	typ  tokenType
	val  string
	span Span
	raw  *raw // the number, where typ is tNum
	unit Unit
	word *Word // the name, where typ is tName
}

// tokens is a ready list that participle reads.
type tokens struct {
	list   []tok
	starts []int         // the tokens that the grammars see, each by the index of its first in the list
	i      int           // of the next of them
	wide   map[Expr]Span // expressions in brackets, with their brackets

	phrase bool // a phrase, whose token types are broad
}

// types appends what the grammars ask of the tokens: a byte for the type of each, and a keyword's own letters.
func (t *tokens) types(b []byte) []byte {
	for _, i := range t.starts {
		k := &t.list[i]
		b = append(b, byte(-t.class(k.typ)))
		if k.typ == tKey {
			b = append(append(b, k.val...), 0)
		}
	}
	return b
}

// Next is the next token that the grammars see. Its place in starts is its identity: participle carries it in
// Pos.Column, counted from one.
func (t *tokens) Next() (lexer.Token, error) {
	if t.i >= len(t.starts) {
		return lexer.EOFToken(lexer.Position{Line: 1, Column: len(t.starts) + 1}), nil
	}
	k := &t.list[t.starts[t.i]]
	t.i++
	l := lexer.Token{Type: t.class(k.typ), Pos: lexer.Position{Line: 1, Column: t.i}}
	if k.typ == tKey {
		l.Value = strings.Clone(k.val) // trees are kept, the draft is not
	}
	return l, nil
}

// gather finds the tokens that the grammars see: all of them, but that a list of sizes, `98 (106, 114)`, is one number.
// The grammars could take it apart, and do where its brackets are not in order or hold sums, but that is most of their
// work, and a phrase is the same phrase however many sizes it is for.
func (t *tokens) gather() {
	t.starts = make([]int, 0, len(t.list))
	for i := 0; i < len(t.list); i = t.after(i) {
		t.starts = append(t.starts, i)
	}
	t.i = 0
}

// after is the index after the token at i and, where a list of sizes begins with it, after the list.
func (t *tokens) after(i int) int {
	if t.list[i].typ != tNum {
		return i + 1
	}
	if i > 0 {
		switch t.list[i-1].typ {
		case tOpen, tSlash, tSep, tPlus, tMinus, tKey:
			return i + 1 // in brackets already, or where one number alone may stand
		}
	}
	typ := func(i int) tokenType {
		if i < len(t.list) {
			return t.list[i].typ
		}
		return tEOF
	}
	i++
	for typ(i) == tOpen && typ(i+1) == tNum {
		j := i + 2
		for typ(j) == tSep && typ(j+1) == tNum {
			j += 2
		}
		if typ(j) != tClose {
			break
		}
		i = j + 1
	}
	return i
}

// class is the type that a grammar sees. Phrases have few and broad ones: participle tries alternatives one by one, and
// each costs.
func (t *tokens) class(typ tokenType) tokenType {
	if t.phrase {
		switch typ {
		case tComma, tAnd, tThen, tTopPlus:
			return tJoint
		case tEvery, tNext, tFoll, tLast, tAlt, tSide:
			return tWhen
		case tTimes:
			return tUnit
		case tSlash:
			return tOpen
		}
	}
	return typ
}

// of finds the token behind one that participle captured; ok is false where nothing was captured.
func (t *tokens) of(l lexer.Token) (*tok, bool) {
	i := l.Pos.Column - 1
	if i < 0 || i >= len(t.starts) {
		return nil, false
	}
	return &t.list[t.starts[i]], true
}

// numbers are the tokens behind captured ones that make a number or a list of them.
func (t *tokens) numbers(captured []lexer.Token) []tok {
	if len(captured) == 0 {
		return nil
	}
	last := t.starts[captured[len(captured)-1].Pos.Column-1]
	return t.list[t.starts[captured[0].Pos.Column-1]:t.after(last)]
}

// definition is the lexer as participle wants it: phrase, expression or statement by kind.
type definition struct{ kind lexKind }

type lexKind int

const (
	lexPhrase lexKind = iota
	lexExpr
)

func (d definition) Symbols() map[string]lexer.TokenType { return tokenNames }

// Lex reads the whole text; names are known to it only from the places where names stand.
func (d definition) Lex(_ string, r io.Reader) (lexer.Lexer, error) {
	b, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	src := string(b)
	if d.kind == lexPhrase {
		return phraseTokens(src, scanText(src, false), newNames(), nil).tokens, nil
	}
	return exprTokens(src, scanText(src, true), newNames()).tokens, nil
}

// nameKind says what a name is known as.
type nameKind uint8

const (
	aMeasure nameKind = 1 << iota
	aFabric
	aLabel
	aSize
)

// namesFrom is every known name that begins with one word: what it is known as, by its words joined by blanks.
type namesFrom struct {
	longest int // in words
	kinds   map[string]nameKind
}

// names is every name of the file, so that the longest known one is read as one token. Hyphenated words are one key in
// phrases and several in expressions, where a hyphen may be a minus.
type names struct {
	joined, apart map[string]*namesFrom
	sizes         map[string]*namesFrom // apart from the rest: a size may be called 32
	all           []string
}

func newNames() *names {
	return &names{joined: map[string]*namesFrom{}, apart: map[string]*namesFrom{}, sizes: map[string]*namesFrom{}}
}

// maxNameWords is how many words a name may have and still be known before it is read.
const maxNameWords = 12

func (n *names) add(key string, kind nameKind) {
	rs := scanText(key, false)
	if len(rs) == 0 || len(rs) > maxNameWords {
		return
	}
	if kind == aSize {
		insertName(n.sizes, rs, kind)
		return
	}
	if insertName(n.apart, rs, kind) {
		n.all = append(n.all, key)
	}
	insertName(n.joined, joinHyphens(rs), kind)
}

// label adds a name of the marked instructions, and what it is called in the second of a pair, where left and right are exchanged.
func (n *names) label(key string) {
	n.add(key, aLabel)
	words := strings.Fields(key)
	if len(words) < 2 || len(words) > maxNameWords {
		return
	}
	paired := false
	for i, w := range words {
		if other, ok := otherHand[w]; ok {
			words[i], paired = other, true
		}
	}
	if paired {
		rs := scanText(strings.Join(words, " "), false)
		insertName(n.apart, rs, aLabel)
		insertName(n.joined, joinHyphens(rs), aLabel)
	}
}

var otherHand = map[string]string{"left": "right", "right": "left"}

func insertName(m map[string]*namesFrom, rs []raw, kind nameKind) bool {
	f := m[rs[0].key]
	if f == nil {
		f = &namesFrom{kinds: map[string]nameKind{}}
		m[rs[0].key] = f
	}
	f.longest = max(f.longest, len(rs))
	key := string(appendKeys(nil, rs))
	_, known := f.kinds[key]
	f.kinds[key] |= kind
	return !known
}

// appendKeys appends the words joined by blanks.
func appendKeys(b []byte, rs []raw) []byte {
	for i := range rs {
		if i > 0 {
			b = append(b, ' ')
		}
		b = append(b, rs[i].key...)
	}
	return b
}

// matchName finds the longest known name at rs[i]; n is 0 where there is none.
func matchName(m map[string]*namesFrom, rs []raw, i int) (n int, kind nameKind) {
	f := m[rs[i].key]
	if f == nil {
		return 0, 0
	}
	var room [64]byte
	for n := min(f.longest, len(rs)-i); n > 0; n-- {
		if k, ok := f.kinds[string(appendKeys(room[:0], rs[i:i+n]))]; ok {
			return n, k
		}
	}
	return 0, 0
}

// joinHyphens makes one word of words that hyphens join without blanks.
func joinHyphens(in []raw) []raw {
	some := false
	for i := 1; i+1 < len(in); i++ {
		if in[i].kind == rawPunct && in[i].key == "-" && !in[i].blank && !in[i+1].blank && in[i-1].kind == rawWord && in[i+1].kind == rawWord {
			some = true
			break
		}
	}
	if !some {
		return in
	}
	out := make([]raw, 0, len(in))
	for i := 0; i < len(in); i++ {
		t := in[i]
		if t.kind == rawWord {
			for i+2 < len(in) && in[i+1].kind == rawPunct && in[i+1].key == "-" && !in[i+1].blank && !in[i+2].blank && in[i+2].kind == rawWord {
				t.key += "-" + in[i+2].key
				t.span.End = in[i+2].span.End
				t.clean = t.clean && in[i+2].clean
				i += 2
			}
		}
		out = append(out, t)
	}
	return out
}

// joinDotted makes one word of `C.O.` and `B.O.`.
func joinDotted(in []raw) []raw {
	for i := 0; i+3 < len(in); i++ {
		if (in[i].key != "c" && in[i].key != "b") || in[i+1].key != "." || in[i+2].key != "o" || in[i+2].blank {
			continue
		}
		out := append([]raw(nil), in[:i]...)
		t := in[i]
		t.key += "o"
		t.span.End = in[i+2].span.End
		t.clean = false
		end := i + 3
		if in[end].key == "." && !in[end].blank {
			end++
		}
		return joinDotted(append(append(out, t), in[end:]...))
	}
	return in
}

// wordOf makes a Word of rs[i:j].
func wordOf(src string, rs []raw, i, j int) Word {
	w := Word{Span: Span{rs[i].span.Start, rs[j-1].span.End}}
	if j == i+1 && rs[i].clean {
		w.Text, w.Key = src[rs[i].span.Start:rs[i].span.End], rs[i].key
		if !rs[i].spelled {
			return w
		}
	}
	if written := src[w.Span.Start:w.Span.End]; plain(written) {
		w.Text, w.Key = written, strings.ToLower(written)
		return w
	}
	var text, key strings.Builder
	for k := i; k < j; k++ {
		if k > i && rs[k].blank {
			text.WriteByte(' ')
			key.WriteByte(' ')
		}
		writeUnescaped(&text, src[rs[k].span.Start:rs[k].span.End])
		key.WriteString(rs[k].key)
	}
	w.Text, w.Key = strings.Join(strings.Fields(text.String()), " "), key.String()
	return w
}

// plain says whether a text is its own spelling but for capitals: ASCII on one line, single blanks, no quotes or escapes.
func plain(text string) bool {
	for i := 0; i < len(text); i++ {
		switch b := text[i]; {
		case b < ' ', b >= utf8.RuneSelf, b == '\'', b == '\\', b == ' ' && (i == 0 || text[i-1] == ' '):
			return false
		}
	}
	return true
}

// places are spellings of the built-in places that a height may be measured from.
var places = map[string]string{
	"cast on": "cast-on", "cast-on": "cast-on", "cast-on edge": "cast-on", "cast on edge": "cast-on", "co": "cast-on", "co edge": "cast-on",
	"cast on row": "cast-on", "cast-on row": "cast-on", "casting on": "cast-on", "beginning": "cast-on", "beg": "cast-on", "start": "cast-on", "beginning of piece": "cast-on",
	"lower edge": "cast-on", "bottom edge": "cast-on", "cast on round": "cast-on", "cast-on round": "cast-on",
	"bind off": "bind-off", "bind-off": "bind-off", "cast off": "bind-off", "cast-off": "bind-off", "bo": "bind-off", "bind-off row": "bind-off", "bind off row": "bind-off",
	"pick up": "pick-up", "pick-up": "pick-up", "pick-up row": "pick-up", "pick up row": "pick-up", "pick-up round": "pick-up", "pick up round": "pick-up", "picked up edge": "pick-up", "picked-up edge": "pick-up", "picked-up sts": "pick-up", "picked up sts": "pick-up",
	"divide": "divide", "division": "divide", "dividing row": "divide", "dividing round": "divide", "dividing point": "divide", "split": "divide",
	"join": "join", "joining": "join", "joining round": "join", "joining row": "join",
	"shaping": "shaping", "start of shaping": "shaping", "beginning of shaping": "shaping", "beg of shaping": "shaping",
	"armhole shaping": "shaping", "start of armhole shaping": "shaping", "beginning of armhole shaping": "shaping", "beg of armhole shaping": "shaping",
	"neck shaping": "shaping", "start of neck shaping": "shaping", "beginning of neck shaping": "shaping", "beg of neck shaping": "shaping",
}

// longestPlace is the most words that a place in [places] has, with its articles.
const longestPlace = 6

// phraseReader turns the words of one phrase into tokens.
type phraseReader struct {
	src   string
	rs    []raw
	i     int
	names *names
	*tokens
	verb    string
	depth   int
	unknown []int // raws that nothing explains
	side    Side  // from an `ending with …`
	ending  Span
	rowWord Unit
}

// phraseTokens puts the tokens in room as far as they fit.
func phraseTokens(src string, rs []raw, n *names, room []tok) *phraseReader {
	p := &phraseReader{src: src, rs: joinDotted(joinHyphens(rs)), names: n, tokens: &tokens{list: slices.Grow(room, len(rs)+1), phrase: true}}
	for p.i < len(p.rs) {
		p.step()
	}
	return p
}

func (p *phraseReader) emit(typ tokenType, val string, i, j int) *tok {
	p.list = append(p.list, tok{typ: typ, val: val, span: Span{p.rs[i].span.Start, p.rs[j-1].span.End}})
	return &p.list[len(p.list)-1]
}

func (p *phraseReader) prev() tokenType {
	if len(p.list) == 0 {
		return tEOF
	}
	return p.list[len(p.list)-1].typ
}

func (p *phraseReader) at(i int) *raw {
	if i < len(p.rs) {
		return &p.rs[i]
	}
	return &noRaw
}

var noRaw = raw{kind: rawPunct}

// skip passes over articles.
func (p *phraseReader) skip(i int) int {
	for i < len(p.rs) && p.rs[i].kind == rawWord && articles[p.rs[i].key] {
		i++
	}
	return i
}

func (p *phraseReader) step() {
	r := &p.rs[p.i]
	i := p.i
	switch r.kind {
	case rawNum:
		// `second sleeve` is a name where a name is expected; elsewhere it is a number.
		if p.numberedName(i) {
			return
		}
		if p.squared(i) || p.alternating(i) || p.dashed(i) || p.verb == "repeat" && p.prev() == tVerb && r.ordinal && p.rowsNamed(i) {
			return
		}
		t := p.emit(tNum, "", i, i+1)
		t.raw = r
		p.i++
		if r.times {
			k := p.emit(tTimes, "", i, i+1)
			k.span = Span{r.span.End, r.span.End}
		}
		return
	case rawPunct:
		p.punct(r)
		return
	}
	p.word(r)
}

// dashed reads three numbers or more with slashes between them as a list of sizes, `88/96/104`, and with dashes between them as
// a layout, `16-16-20`.
func (p *phraseReader) dashed(i int) bool {
	sep := p.at(i + 1).key
	if sep != "/" && sep != "-" || p.depth > 0 || p.prev() == tNum || p.rs[i].spelled || i > 0 && !p.rs[i].blank && p.rs[i-1].kind == rawPunct && p.rs[i-1].key != "(" {
		return false
	}
	end := i + 1
	for p.at(end).key == sep && !p.at(end).blank && p.at(end+1).kind == rawNum && !p.at(end+1).blank && !p.at(end+1).spelled {
		end += 2
	}
	if end < i+5 {
		return false
	}
	for j := i; j < end; j += 2 {
		if j > i {
			switch {
			case sep == "-":
				p.emit(tTopPlus, "+", j-1, j)
			case j == i+2:
				p.emit(tOpen, "/", j-1, j)
			default:
				p.emit(tSep, "/", j-1, j)
			}
		}
		p.emit(tNum, "", j, j+1).raw = &p.rs[j]
	}
	if sep == "/" {
		t := p.emit(tClose, "", end-1, end)
		t.span.Start = t.span.End
	}
	p.i = end
	return true
}

// squared passes over the other side of a square in which stitches and rows are counted: `10 x 10 cm`, `4" x 4"`.
func (p *phraseReader) squared(i int) bool {
	r := p.rs[i]
	if r.val == nil {
		return false
	}
	same := func(j int) bool { return p.at(j).kind == rawNum && p.at(j).val != nil && p.at(j).val.Cmp(r.val) == 0 }
	unit := func(j int) bool { return p.key(j) == `"` || unitWords[p.key(j)].IsLength() }
	by := func(j int) bool { return p.key(j) == "x" || p.key(j) == "*" } // `×` is read as `*`
	switch {
	case by(i+1) && same(i+2) && unit(i+3):
		p.i = i + 2 // the second one has the unit
		return true
	case p.key(i+1) == "x"+r.key && unit(i+2):
		p.emit(tNum, "", i, i+1).raw = &p.rs[i]
		p.i = i + 2
		return true
	case unit(i+1) && by(i+2) && same(i+3) && unit(i+4):
		p.i = i + 3
		return true
	}
	return false
}

// alternating reads sizes of which every second stands in brackets, `92 (100) 108 (116)`.
func (p *phraseReader) alternating(i int) bool {
	num := func(j int) bool {
		return p.at(j).kind == rawNum && p.at(j).val != nil && !p.at(j).ordinal && !p.at(j).times
	}
	bracketed := func(j int) bool { return p.at(j).key == "(" && num(j+1) && p.at(j+2).key == ")" }
	if p.depth > 0 || !num(i) || !bracketed(i+1) || !num(i+4) {
		return false
	}
	end := i + 4
	for num(end) && bracketed(end+1) {
		end += 4
	}
	if next := p.key(end + 1); num(end) && (unitWords[next] != NoUnit || stitchesOf[next]) {
		end++ // an odd one out
	}
	if end < i+5 || p.at(end).key == "times" {
		return false
	}
	p.emit(tNum, "", i, i+1).raw = &p.rs[i]
	for j := i + 1; j < end; j++ {
		switch {
		case j == i+1:
			p.emit(tOpen, "(", j, j+1)
		case p.rs[j].kind == rawNum:
			p.emit(tNum, "", j, j+1).raw = &p.rs[j]
		case j == end-1:
			p.emit(tClose, "", j, j+1)
		default:
			p.emit(tSep, p.rs[j].key, j, j+1)
		}
	}
	if p.rs[end-1].kind == rawNum {
		t := p.emit(tClose, "", end-1, end)
		t.span.Start = t.span.End
	}
	p.i = end
	return true
}

func (p *phraseReader) punct(r *raw) {
	i := p.i
	p.i++
	switch r.key {
	case "(", "[":
		p.depth++
		p.emit(tOpen, r.key, i, i+1)
	case ")", "]":
		if p.depth > 0 {
			p.depth--
		}
		p.emit(tClose, r.key, i, i+1)
	case ",", ";", ":":
		if p.depth > 0 {
			p.emit(tSep, r.key, i, i+1)
		} else {
			p.emit(tComma, r.key, i, i+1)
		}
	case "+":
		if p.depth > 0 {
			p.emit(tPlus, "+", i, i+1)
		} else {
			p.emit(tTopPlus, "+", i, i+1)
		}
	case "/":
		p.emit(tSlash, "/", i, i+1)
	case "-", "—":
		if p.depth > 0 {
			p.emit(tSep, r.key, i, i+1)
		} else {
			p.emit(tComma, r.key, i, i+1)
		}
	case `"`:
		if p.prev() == tNum || p.prev() == tClose {
			p.emit(tUnit, "in", i, i+1).unit = Inches
			return
		}
		p.unknown = append(p.unknown, i)
	case "%":
		p.emit(tUnit, "%", i, i+1).unit = Percent
	case ".", "!":
	case "&", "*":
		p.emit(tAnd, "and", i, i+1)
	case "=":
		p.emit(tRel, "to", i, i+1)
	default:
		p.unknown = append(p.unknown, i)
	}
}

// find matches the longest spelling of the vocabulary at i, passing over articles between its words.
func (p *phraseReader) find(i int) (sp *spelling, end int) {
	if p.rs[i].kind == rawNum {
		return nil, i
	}
	list := vocabulary[p.rs[i].key]
next:
	for k := range list {
		s := &list[k]
		j := i + 1
		for _, w := range s.words[1:] {
			if j = p.skip(j); j >= len(p.rs) || p.rs[j].key != w {
				continue next
			}
			j++
		}
		return s, j
	}
	return nil, i
}

// nameRun reads a name at i (articles before it passed over): the longest known one, else words up to one that cannot
// be in a name. It emits nothing and returns i where there is none.
func (p *phraseReader) nameRun(i int) (from, to int, kind nameKind) {
	i = p.skip(i)
	if i >= len(p.rs) {
		return i, i, 0
	}
	if n, k := matchName(p.names.joined, p.rs, i); n > 0 {
		return i, i + n, k
	}
	j := i
	for j < len(p.rs) {
		r := &p.rs[j]
		if r.kind == rawPunct || r.kind == rawWord && stopWords[r.key] || r.kind == rawNum && !r.spelled && (j == i || j+1 < len(p.rs) && p.rs[j+1].kind != rawPunct) {
			break
		}
		if r.kind == rawNum && r.times || j > i && p.verbAt(j) || r.kind == rawNum && (p.at(j+1).key == "(" || p.at(j+1).key == "[") {
			break
		}
		j++
	}
	return i, j, 0
}

func (p *phraseReader) emitName(i, j int) *tok {
	w := wordOf(p.src, p.rs, i, j)
	t := p.emit(tName, w.Key, i, j)
	t.word = &w
	return t
}

// related emits a relation and the name after it; false where no name stands there.
func (p *phraseReader) related(val string, i, after int) bool {
	from, to, kind := p.nameRun(after)
	if to == from || kind == 0 && val != "as" && val != "in" && val != "from" && p.misspelt(from) {
		return false
	}
	p.emit(tRel, val, i, after)
	p.emitName(from, to)
	p.i = to
	return true
}

// misspelt says whether a word that would pass for a name is a slip of one that builds an instruction.
func (p *phraseReader) misspelt(i int) bool {
	r := &p.rs[i]
	if r.kind != rawWord || len(vocabulary[r.key]) > 0 {
		return false
	}
	return nearest(r.key, buildingWords) != ""
}

var buildingWords = []string{"every", "following", "alternate", "rounds", "stitches", "beginning", "remaining", "evenly", "marker", "markers", "underarm"}

// pass drops words from i to the next number, stop word or punctuation.
func (p *phraseReader) pass(i int) int {
	for i < len(p.rs) {
		r := &p.rs[i]
		if r.kind != rawWord || r.key != "of" && stopWords[r.key] || p.verbAt(i) {
			break
		}
		i++
	}
	return i
}

// needles is where `4.5 mm needles` at i ends, 0 where no needles stand there. A needle's size is not the draft's count.
func (p *phraseReader) needles(i int) int {
	for j := i; j < len(p.rs) && j < i+8; j++ {
		switch r := &p.rs[j]; {
		case r.kind == rawPunct && r.key != "(" && r.key != ")" && r.key != "-" && r.key != ".":
			return 0
		case r.key == "needles" || r.key == "needle" || r.key == "hook" || r.key == "circular" && j+1 < len(p.rs) && p.rs[j+1].kind == rawPunct:
			return j + 1
		case p.verbAt(j), unitWords[r.key] == Stitches:
			return 0
		}
	}
	return 0
}

// oneInch reads `inch` without a number as one.
func (p *phraseReader) oneInch(i int) {
	at := p.rs[i].span.Start
	t := p.emit(tNum, "", i, i+1)
	t.span = Span{at, at}
	t.raw = &raw{kind: rawNum, span: t.span, val: big.NewRat(1, 1), clean: true}
	p.emit(tUnit, "inch", i, i+1).unit = Inches
	p.i = i + 1
}

// eachNeedle reads `each of 3 needles`, `2 needles`, `the 3rd`, `each needle`, after `on`: how a cast-on is shared out.
func (p *phraseReader) eachNeedle(i int) bool {
	from, each := i, false
	i = p.skip(i)
	if p.at(i).key == "each" {
		each = true
		i++
		if p.at(i).key == "of" {
			i = p.skip(i + 1)
		}
	}
	n := int64(0)
	ordinal := false
	if r := p.at(i); r.kind == rawNum && r.val != nil && r.val.IsInt() && !r.times {
		n, ordinal = r.val.Num().Int64(), r.ordinal
		i++
	}
	tool := p.at(i).key == "needles" || p.at(i).key == "needle" || p.at(i).key == "pins" || p.at(i).key == "pin"
	switch {
	case ordinal:
	case each && (n > 0 || tool), tool && n > 0 && n < 8:
	case each && i == len(p.rs):
	default:
		return false
	}
	if tool {
		i++
	}
	val := "needles"
	if each {
		val = "eachneedle"
	}
	if ordinal {
		val, n = "thisneedle", 1
	}
	t := p.emit(tFlag, val, from, i)
	t.unit = Unit(min(max(n, 0), 99))
	p.i = i
	return true
}

// verbAt says whether an instruction's own verb stands at i, which no passing over may swallow.
func (p *phraseReader) verbAt(i int) bool {
	if p.verb != "" {
		return false
	}
	sp, _ := p.find(i)
	return sp != nil && sp.typ == tVerb && len(sp.words[0]) > 1
}

func (p *phraseReader) numAt(i int) bool {
	i = p.skip(i)
	if i < len(p.rs) && p.rs[i].kind == rawWord && (p.rs[i].key == "about" || p.rs[i].key == "approximately" || p.rs[i].key == "only" || p.rs[i].key == "remaining" || p.rs[i].key == "last" || p.rs[i].key == "rem") {
		i = p.skip(i + 1)
	}
	return i < len(p.rs) && p.rs[i].kind == rawNum
}

func (p *phraseReader) key(i int) string {
	if i = p.skip(i); i < len(p.rs) {
		return p.rs[i].key
	}
	return ""
}

// numberedName takes a known name of several words that begins with a number in words, `one side`, where a verb or a list of
// names expects one.
func (p *phraseReader) numberedName(i int) bool {
	switch p.verb {
	case "resume", "graft", "join", "bindoff":
	default:
		return false
	}
	switch p.prev() {
	case tVerb, tComma, tAnd, tRel:
	default:
		return false
	}
	n, k := matchName(p.names.joined, p.rs, i)
	if n < 2 || k&aLabel == 0 {
		return false
	}
	p.emitName(i, i+n)
	p.i += n
	return true
}

func (p *phraseReader) afterNumber() bool {
	t := p.prev()
	return t == tNum || t == tClose || t == tMore
}

func (p *phraseReader) word(r *raw) {
	i := p.i
	if articles[r.key] {
		// `a further 5 times`; a name may begin with an article only where a name is expected.
		p.i++
		return
	}
	// A unit right after its number.
	if u, ok := unitWords[r.key]; ok && u != NoUnit && p.afterNumber() {
		if r.key != "in" || p.inIsInches(i) {
			p.unit(u, i)
			return
		}
	}
	if p.afterNumber() && stitchesOf[r.key] {
		j, held := i, false
		for ; stitchesOf[p.key(j)]; j++ {
			held = held || p.key(j) == "held"
		}
		if unitWords[p.key(j)] == Stitches {
			if held && p.verb == "hold" {
				p.takesUp() // `place 56 held sts on the needles`
			}
			p.i = j
			return
		}
	}
	// Held work and labels come before the vocabulary where a verb takes them.
	switch p.verb {
	case "resume", "across", "graft", "join", "endpanel":
		if p.prev() == tVerb || p.prev() == tComma || p.prev() == tAnd {
			if p.namesFirst(i) {
				return
			}
		}
	case "bindoff":
		if n, k := matchName(p.names.joined, p.rs, i); n > 0 && k&aLabel != 0 && (p.prev() == tVerb || p.prev() == tRel || p.prev() == tAnd) {
			p.emitName(i, i+n)
			p.i += n
			return
		}
	case "repeat":
		if p.prev() == tVerb {
			if p.repeated(i) {
				return
			}
		}
	case "space", "make":
		if (p.prev() == tNum || p.prev() == tClose) && (p.verb == "space" || strings.HasPrefix(r.key, "button")) {
			from, to, _ := p.nameRun(i)
			if to > from {
				p.emitName(from, to)
				p.i = to
				return
			}
		}
	case "pickup":
		switch r.key {
		case "from", "along", "around", "down", "round", "on", "across", "up", "at", "over", "into", "between":
			if p.key(i+1) == "next" || p.numAt(i+1) {
				break
			}
			j := p.pass(i + 1)
			// `along the left and right fronts`, `from underarm to shoulder`
			for j < len(p.rs) && p.rs[j].kind == rawWord && (p.rs[j].key == "and" || p.rs[j].key == "to" || p.rs[j].key == "of" || p.rs[j].key == "from" || p.rs[j].key == "around" || p.rs[j].key == "along" || p.rs[j].key == "at") && !p.numAt(j+1) {
				if k := p.pass(j + 1); k > j+1 {
					j = k
					continue
				}
				break
			}
			if from := p.skip(i + 1); j > from {
				p.emit(tRel, "along", i, i+1)
				p.emitName(from, j)
				p.i = j
				return
			}
		}
	}
	if r.key == "eor" { // every other row
		p.emit(tEvery, "every", i, i+1)
		p.emit(tAlt, "other", i, i+1)
		p.unit(Rows, i)
		return
	}
	sp, j := p.find(i)
	if p.relation(r, sp, j) {
		return
	}
	if sp != nil {
		if sp.typ == tFill {
			// `left front` where `left` alone is no more than a word in passing
			if n, k := matchName(p.names.joined, p.rs, i); n > len(sp.words) && k&aLabel != 0 {
				p.emitName(i, i+n)
				p.i += n
				return
			}
		}
		if p.vocabularyWord(sp, i, j) {
			if p.i == i {
				p.i = j
			}
			return
		}
	}
	if u, ok := unitWords[r.key]; ok && anywhere(u) && r.key != "r" {
		p.unit(u, i)
		return
	}
	if n, _ := matchName(p.names.joined, p.rs, i); n > 0 {
		p.emitName(i, i+n)
		p.i += n
		return
	}
	// `neck edge` without its `at`.
	for j := i + 1; j < len(p.rs) && j <= i+2; j++ {
		if p.rs[j].kind == rawWord && (p.rs[j].key == "edge" || p.rs[j].key == "edges") && p.shaping() {
			p.emit(tRel, "at", i, i+1)
			p.emitName(i, j).span.End = p.rs[j].span.End
			p.i = j + 1
			return
		}
	}
	p.unknown = append(p.unknown, i)
	p.i++
}

// takesUp makes a verb that sets stitches aside one that takes them up.
func (p *phraseReader) takesUp() {
	for k := range p.list {
		if p.list[k].typ == tVerb {
			p.list[k].val, p.verb = "resume", "resume"
		}
	}
}

// stitchesOf are words that say which stitches are counted, and nothing more.
var stitchesOf = map[string]bool{"thumb": true, "body": true, "sleeve": true, "back": true, "front": true, "held": true, "live": true, "gusset": true, "heel": true, "toe": true,
	"instep": true, "sole": true, "neck": true, "underarm": true, "yoke": true, "cuff": true, "shoulder": true, "hand": true, "palm": true, "flap": true}

func (p *phraseReader) shaping() bool {
	return p.verb == "dec" || p.verb == "inc" || p.verb == "bindoff" || p.verb == "repeat" || p.verb == "turn"
}

func (p *phraseReader) unit(u Unit, i int) {
	p.emit(tUnit, p.rs[i].key, i, i+1).unit = u
	if u == Rows || u == Rounds {
		p.rowWord = u
	} else if u == Ridges {
		p.rowWord = Rows
	}
	p.i = i + 1
	// `in.`, `sts.`
	if p.at(p.i).key == "." {
		p.i++
	}
}

// inIsInches settles `in` after a number: a unit, unless a fabric or a set phrase follows.
func (p *phraseReader) inIsInches(i int) bool {
	if p.prev() == tMore {
		return false
	}
	j := p.skip(i + 1)
	if j >= len(p.rs) || p.rs[j].kind != rawWord {
		return true
	}
	if n, k := matchName(p.names.joined, p.rs, j); n > 0 && k&aFabric != 0 {
		return false
	}
	switch p.rs[j].key {
	case "every", "each", "pattern", "patt", "all", "total":
		return false
	}
	return true
}

// namesFirst reads a name, known or not, where the verb takes one.
func (p *phraseReader) namesFirst(i int) bool {
	if sp, _ := p.find(i); sp != nil && (sp.val == "inround" || sp.typ == tFlag && (sp.val == "all" || sp.val == "rem")) {
		return false
	}
	if u, ok := unitWords[p.rs[i].key]; ok && anywhere(u) && i+1 >= len(p.rs) {
		return false
	}
	if p.rs[i].key == "in" || p.rs[i].key == "last" {
		return false
	}
	from, to, _ := p.nameRun(i)
	if to == from {
		return false
	}
	p.emitName(from, to)
	p.i = to
	return true
}

// repeated reads what `repeat` repeats: a labelled row, or the last rows.
func (p *phraseReader) repeated(i int) bool {
	if n, _ := matchName(p.names.joined, p.rs, i); n > 0 {
		p.emitName(i, i+n)
		p.i += n
		return true
	}
	switch p.rs[i].key {
	case "last", "these", "this", "those", "previous", "preceding", "from":
		return false
	}
	if p.rowsNamed(i) {
		return true
	}
	from, to, _ := p.nameRun(i)
	if to == from || p.rs[from].kind == rawNum {
		return false
	}
	p.emitName(from, to)
	p.i = to
	return true
}

// rowsNamed reads the rows that `repeat` speaks of by their numbers: `rows 1 and 2`, `rows 1-4`, `the 2nd row`.
func (p *phraseReader) rowsNamed(i int) bool {
	i = p.skip(i)
	from := i
	num := func(j int) (int64, bool) {
		if r := p.at(j); r.kind == rawNum && !r.times && r.val != nil && r.val.IsInt() {
			n := r.val.Num().Int64()
			return n, n > 0 && n < 10_000
		}
		return 0, false
	}
	var rows []int64
	u := unitWords[p.at(i).key]
	if n, ok := num(i); ok && p.rs[i].ordinal && (unitWords[p.at(i+1).key] == Rows || unitWords[p.at(i+1).key] == Rounds) {
		u = unitWords[p.at(i+1).key]
		rows = []int64{n}
		i += 2
	} else if u == Rows || u == Rounds {
		i++
		n, ok := num(i)
		if !ok {
			return false
		}
		rows = []int64{n}
		i++
		for {
			sep := p.at(i).key
			j := i + 1
			if sep == "," && p.at(j).key == "and" {
				j++
			}
			n, ok := num(j)
			after := p.at(j + 1).key
			if !ok || after == "more" || after == "times" || after == "time" || after == "further" || after == "additional" {
				break
			}
			last := rows[len(rows)-1]
			switch {
			case (sep == "-" || sep == "to" || sep == "through" || sep == "thru") && n > last && n-last < 500:
				for k := last + 1; k <= n; k++ {
					rows = append(rows, k)
				}
			case sep == "and" || sep == "&" || sep == ",":
				rows = append(rows, n)
			default:
				n = 0
			}
			if n == 0 {
				break
			}
			i = j + 1
		}
	} else {
		return false
	}
	w := wordOf(p.src, p.rs, from, i)
	w.Key = "rows"
	for _, n := range rows {
		w.Key += " " + itoa(int(n))
	}
	p.emit(tName, w.Key, from, i).word = &w
	p.rowWord = u
	p.i = i
	return true
}

// relation handles the small words that say how what follows belongs; sp is what the vocabulary has for r and what follows it, up to
// spEnd.
func (p *phraseReader) relation(r *raw, sp *spelling, spEnd int) bool {
	i := p.i
	next := i + 1
	multi := sp != nil && len(sp.words) > 1
	switch r.key {
	case "from", "past", "above", "beyond", "since":
		if multi {
			return false
		}
		if p.verb == "turn" {
			return false
		}
		from, to, _ := p.nameRun(next)
		// `from the cast on edge`, `from the beginning of the armhole shaping`: several words of the trade are one place.
		for k := min(max(to+2, from+longestPlace), len(p.rs)); k > from; k-- {
			w := wordOf(p.src, p.rs, from, k)
			if canon, ok := places[strings.ReplaceAll(w.Key, " the ", " ")]; ok && p.key(k) != "of" {
				if n, _ := matchName(p.names.joined, p.rs, from); n >= k-from {
					break
				}
				w.Key = canon
				p.emit(tRel, "from", i, next)
				p.emit(tName, w.Key, from, k).word = &w
				p.i = k
				return true
			}
		}
		return p.related("from", i, next)
	case "in":
		if multi {
			return false
		}
		switch p.key(next) {
		case "every", "each", "next", "following", "alternate", "rs", "ws", "last", "this":
			p.i = next
			return true
		case "width", "height": // `22 sts in width and 30 rows in height`
			p.i = next + 1
			return true
		}
		if p.numAt(next) {
			p.i = next
			return true
		}
		from, to, _ := p.nameRun(next)
		if to == from {
			return false
		}
		val := "in"
		if from > next && p.rs[next].key == "the" {
			val = "inthe"
		}
		p.emit(tRel, val, i, next)
		p.emitName(from, to)
		p.i = to
		return true
	case "as":
		if p.verb == "work" && p.key(next) == "for" {
			next++
		}
		switch p.key(next) {
		case "set", "established", "before":
			if multi {
				return false
			}
			p.i = next + 1
			return true
		}
		if multi {
			return false
		}
		return p.related("as", i, next)
	case "at":
		if multi {
			return false
		}
		from, to, kind := p.nameRun(next)
		if to == from {
			return false
		}
		if kind == 0 && p.misspelt(from) {
			p.i = next
			return true
		}
		end := to
		if to-from > 1 && (p.rs[to-1].key == "edge" || p.rs[to-1].key == "edges") && p.shaping() {
			end--
		}
		p.emit(tRel, "at", i, next)
		p.emitName(from, end)
		if to < len(p.rs) && (p.rs[to].key == "edge" || p.rs[to].key == "edges") {
			to++
		}
		p.list[len(p.list)-1].span.End = p.rs[to-1].span.End
		p.i = to
		return true
	case "of":
		j := p.skip(next)
		if j >= len(p.rs) || p.rs[j].kind != rawWord {
			p.i = next
			return true
		}
		if n, _ := matchName(p.names.joined, p.rs, j); n > 0 {
			return p.related("of", i, next)
		}
		if s, _ := p.find(j); s != nil {
			p.i = next
			return true
		}
		if _, ok := unitWords[p.rs[j].key]; ok {
			p.i = next
			return true
		}
		if p.misspelt(j) {
			p.i = next
			return true
		}
		return p.related("of", i, next)
	case "to", "into":
		if multi && sp.typ != tRel {
			return false
		}
		if p.verb == "divide" && r.key == "into" {
			p.i = next
			return true
		}
		if p.key(next) == "match" || p.key(next) == "matching" || p.key(next) == "correspond" {
			j := p.skip(next) + 1
			if p.key(j) == "with" {
				j = p.skip(j) + 1
			}
			return p.related("match", i, j)
		}
		if p.numAt(next) {
			p.emit(tRel, "to", i, next)
			p.i = next
			return true
		}
		switch p.key(next) {
		case "inch":
			p.emit(tRel, "to", i, next)
			p.oneInch(p.skip(next)) // `5 sts and 7 rows to the inch`
			return true
		case "measure":
			p.emit(tRel, "to", i, next)
			p.i = p.skip(next) + 1
			return true
		case "last", "within", "marker":
			return false
		}
		return p.related("to", i, next)
	case "until", "till", "untill", "til":
		p.emit(tRel, "until", i, next)
		p.i = p.measured(next)
		return true
	case "when":
		p.emit(tRel, "starting", i, next)
		p.i = p.measured(next)
		return true
	case "over":
		if multi {
			return false
		}
		if p.numAt(next) {
			p.emit(tRel, "over", i, next)
			p.i = next
			return true
		}
		if k := p.key(next); k == "next" || k == "last" || k == "row" || k == "round" || k == "following" {
			p.i = next
			return true
		}
		return p.related("over", i, next)
	case "after", "before":
		if multi {
			return false
		}
		if p.numAt(next) {
			p.emit(tRel, r.key, i, next)
			p.i = next
			return true
		}
		if from, to, _ := p.nameRun(next); to > from {
			return p.related(r.key, i, next)
		}
		p.emit(tRel, r.key, i, next)
		p.i = next
		return true
	case "per":
		if k := p.key(next); !multi && (k == "inch" || p.numAt(next)) {
			p.emit(tRel, "to", i, next)
			p.i = next
			if k == "inch" {
				p.oneInch(p.skip(next))
			}
			return true
		}
		return false
	case "leaving":
		p.emit(tRel, "leaving", i, next)
		p.i = next
		return true
	case "on", "onto", "upon":
		if !multi && p.verb == "caston" && p.eachNeedle(next) {
			return true
		}
		if j := p.needles(next); !multi && j > 0 {
			p.i = j
			return true
		}
		return false
	case "with", "using":
		if multi {
			return false
		}
		if j := p.needles(next); j > 0 {
			p.i = j
			return true
		}
		if p.verb == "bindoff" && (p.prev() == tName || p.prev() == tFill) {
			return p.related("with", i, next)
		}
		if p.verb == "graft" && p.prev() == tName {
			return p.related("to", i, next)
		}
		j := p.pass(next)
		if j > next {
			p.i = j
			return true
		}
		return false
	case "for":
		if multi {
			return false
		}
		switch p.key(next) {
		case "every", "each":
			j := p.skip(next) + 1
			if p.numAt(j) || unitWords[p.key(j)].IsRows() || j >= len(p.rs) {
				p.i = next
				return true
			}
			if sp, _ := p.find(p.skip(next)); sp != nil && len(sp.words) > 1 {
				p.i = next
				return true
			}
			return p.related("for", i, j)
		case "next", "following":
			p.i = next
			return true
		}
		if k := p.key(next); k == "further" || k == "another" {
			p.i = next
			return true
		}
		if p.numAt(next) {
			p.emit(tRel, "for", i, next)
			p.i = next
			return true
		}
		from, to, _ := p.nameRun(next)
		if to > from {
			p.emit(tRel, "for", i, next)
			p.emitName(from, to)
			p.i = to
			return true
		}
		return false
	case "along", "around":
		if multi {
			return false
		}
		if p.numAt(next) && p.verb == "space" {
			p.emit(tRel, "over", i, next)
			p.i = next
			return true
		}
		if !p.related("along", i, next) {
			p.i = next // `evenly around`
		}
		return true
	case "each":
		if multi {
			return false
		}
		j := p.skip(next)
		if j < len(p.rs) && (p.rs[j].kind == rawNum || unitWords[p.rs[j].key].IsRows() || p.key(j) == "alternate" || p.key(j) == "alt" || p.key(j) == "other" || p.key(j) == "rs" || p.key(j) == "ws" || p.key(j) == "following" || p.key(j) == "foll") {
			p.emit(tEvery, "every", i, next)
			p.i = next
			return true
		}
		if p.key(j) == "of" && (p.key(j+1) == "next" || p.key(j+1) == "following" || p.key(j+1) == "last") {
			p.i = j + 1
			return true
		}
		return false
	case "starting", "beginning", "start", "begin", "commencing", "beg":
		if multi {
			if sp.val == "startnext" {
				p.emit(tFlag, "startnext", i, spEnd)
				p.i = spEnd
				// `starting on the next row`: the row is part of it
				for p.i < len(p.rs) {
					k := p.rs[p.i].key
					if k == "rs" || k == "ws" || unitWords[k].IsRows() || k == "right" || k == "wrong" || k == "side" {
						if u := unitWords[k]; u == Rows || u == Rounds {
							p.rowWord = u
						}
						p.i++
						continue
					}
					break
				}
				return true
			}
			return false
		}
		if p.numAt(next) {
			p.emit(tRel, "starting", i, next)
			p.i = next
			return true
		}
		switch p.key(next) {
		case "at", "from", "after":
			j := p.skip(next) + 1
			return p.related("after", i, j)
		case "when":
			p.emit(tRel, "starting", i, next)
			p.i = p.measured(p.skip(next) + 1)
			return true
		}
		return false
	case "ending", "end", "finishing", "ends":
		if p.endingWith(i) {
			return true
		}
		if j := p.skip(next); r.key == "end" && p.verb == "" && j < len(p.rs) {
			if n, k := matchName(p.names.joined, p.rs, j); n > 0 && k&aFabric != 0 {
				p.emit(tVerb, "endpanel", i, next)
				p.verb = "endpanel"
				p.emitName(j, j+n)
				p.i = j + n
				if p.at(p.i).key == "panel" {
					p.i++
				}
				return true
			}
		}
		return false
	case "x":
		if p.prev() == tUnit {
			p.emit(tAnd, "and", i, next)
			p.i = next
			return true
		}
	}
	return false
}

// lengthAfter is where a length stands at i, past `about`; 0 where none does.
func (p *phraseReader) lengthAfter(i int) int {
	for i < len(p.rs) && (p.rs[i].key == "about" || p.rs[i].key == "approximately" || p.rs[i].key == "now") {
		i++
	}
	if i+1 < len(p.rs) && p.rs[i].kind == rawNum && (unitWords[p.rs[i+1].key].IsLength() || p.rs[i+1].key == `"`) {
		return i
	}
	return 0
}

// measured passes over `the piece measures`, `there are`, `work is`, up to the number.
func (p *phraseReader) measured(i int) int {
	for j := i; j < len(p.rs) && j < i+10; j++ {
		r := &p.rs[j]
		switch {
		case r.kind == rawPunct:
			return i
		case r.kind == rawNum && !(r.spelled && (r.times || r.ordinal)):
			for k := i; k < j; k++ {
				if !beforeMeasure[p.rs[k].key] && !articles[p.rs[k].key] {
					return i
				}
			}
			return j
		case r.key == "measures" || r.key == "measure" || r.key == "measuring" || r.key == "reaches" || r.key == "meas" || r.key == "measured":
			for j+1 < len(p.rs) && (p.rs[j+1].key == "." || p.rs[j+1].key == "approx" || p.rs[j+1].key == "about") {
				j++
			}
			return j + 1 // whatever it is that measures
		case (r.key == "is" || r.key == "are") && j > i && p.lengthAfter(j+1) > 0:
			return p.lengthAfter(j + 1) // whatever it is that is so long
		}
	}
	return i
}

var beforeMeasure = map[string]bool{"it": true, "is": true, "there": true, "are": true, "you": true, "have": true, "only": true, "about": true,
	"approximately": true, "just": true, "but": true, "remain": true, "of": true, "total": true, "piece": true, "work": true, "length": true}

// endingWith reads `ending with a WS row`, `ending with RS facing for next row` and their kin.
func (p *phraseReader) endingWith(i int) bool {
	j := i + 1
	for j < len(p.rs) && p.rs[j].kind == rawWord {
		switch p.rs[j].key {
		case "with", "on", "after", "at", "a", "an", "the", "by", "working", "last", "row", "in", "having", "worked":
			j++
			continue
		}
		break
	}
	if j >= len(p.rs) {
		return false
	}
	side := NoSide
	sp, k := p.find(j)
	if sp == nil || sp.typ != tSide && sp.val != "rs facing" {
		switch p.rs[j].key {
		case "purl", "p":
			side, k = WS, j+1
		case "knit", "k":
			side, k = RS, j+1
		default:
			return false
		}
	} else {
		switch {
		case strings.HasPrefix(sp.val, "RS"), strings.HasPrefix(sp.val, "rs"), strings.HasPrefix(sp.val, "right"):
			side = RS
		default:
			side = WS
		}
		if sp.typ == tFill {
			// `RS facing`
			side = other(side)
		}
	}
	if k < len(p.rs) && p.rs[k].key == "facing" {
		side = other(side)
		k++
	}
	if k < len(p.rs) && (p.rs[k].key == "row" || p.rs[k].key == "rows" || p.rs[k].key == "round") {
		p.rowWord = unitWords[p.rs[k].key]
		k++
	}
	if k+1 < len(p.rs) && (p.rs[k].key == "for" || p.rs[k].key == "on") && (p.key(k+1) == "next" || p.key(k+1) == "following") {
		k = p.skip(k+1) + 1
		if k < len(p.rs) && (p.rs[k].key == "row" || p.rs[k].key == "round") {
			p.rowWord = unitWords[p.rs[k].key]
			k++
		}
	}
	p.side = side
	p.ending = Span{p.rs[i].span.Start, p.rs[k-1].span.End}
	// A comma that only introduced the ending goes with it.
	if p.prev() == tComma {
		p.list = p.list[:len(p.list)-1]
	}
	p.i = k
	return true
}

func other(s Side) Side {
	switch s {
	case RS:
		return WS
	case WS:
		return RS
	}
	return s
}

// totals are the words that may stand in passing anywhere but after a number of times: `4 times in all` counts the first, too.
var totals = map[string]bool{"in all": true, "all told": true, "in total": true, "total": true, "altogether": true}

// vocabularyWord emits what a spelling stands for; false where it cannot stand here.
func (p *phraseReader) vocabularyWord(sp *spelling, i, j int) bool {
	switch sp.typ {
	case tFill:
		if totals[strings.Join(sp.words, " ")] {
			switch p.prev() {
			case tTimes:
				p.emit(tTimes, "total", i, j)
			case tNum, tClose:
				p.emit(tFlag, "rem", i, j)
			}
		}
		return true
	case tVerb:
		if p.verb != "" {
			switch sp.val {
			case "work":
				if sp.words[0] == "work" || sp.words[0] == "working" || sp.words[0] == "rib" || sp.words[0] == "knit" {
					if p.prev() != tComma && p.prev() != tAnd && p.prev() != tThen {
						return true
					}
				}
			case "draw":
				if p.verb == "draw" {
					return true
				}
			}
		}
		verb := sp.val
		if verb == "across" {
			if p.verb != "" {
				return true
			}
			if !p.nameFollows(j) {
				verb = "work" // `knit across` what is in hand
			}
		}
		if k := p.skip(j); p.verb == "" && verb == "work" && shapingRow[p.key(k)] && unitWords[p.key(k+1)].IsRows() {
			p.emit(tVerb, "repeat", i, j) // `work the dec row every 6th row 8 more times`
			p.verb = "repeat"
			return true
		}
		if p.verb == "" && (verb == "work" || verb == "make") {
			if p.twin(i, j) {
				return true
			}
		}
		p.emit(tVerb, verb, i, j)
		p.verb = verb
		return true
	case tSide:
		p.emit(tSide, sp.val, i, j)
		return true
	case tMore:
		p.emit(tMore, "more", i, j)
		return true
	}
	p.emit(sp.typ, sp.val, i, j)
	return true
}

var shapingRow = map[string]bool{"dec": true, "decrease": true, "inc": true, "increase": true, "decreasing": true, "increasing": true}

// nameFollows reports whether a label stands in the rest of the phrase, or words that could be one with a slip in it.
func (p *phraseReader) nameFollows(i int) bool {
	for ; i < len(p.rs); i++ {
		if n, k := matchName(p.names.joined, p.rs, i); n > 0 && k&aLabel != 0 {
			return true
		}
		if r := &p.rs[i]; r.kind == rawWord && !articles[r.key] && unitWords[r.key] == NoUnit && r.key != "of" && r.key != "from" {
			if sp, _ := p.find(i); sp == nil {
				return true
			}
		}
	}
	return false
}

// twin looks ahead from `work` for `NAME as NAME`.
func (p *phraseReader) twin(i, j int) bool {
	from := p.skip(j)
	for k := from; k < len(p.rs); k++ {
		r := &p.rs[k]
		if r.kind == rawPunct || r.kind == rawNum && !r.spelled {
			return false
		}
		if r.kind == rawWord {
			switch r.key {
			case "to":
				// `the second side to match the first`, `to match`
				after := p.skip(k+1) + 1
				if w := p.key(k + 1); w != "match" && w != "correspond" && w != "corr" {
					return false
				}
				for p.key(after) == "with" || p.key(after) == "to" {
					after = p.skip(after) + 1
				}
				if k == from && after < len(p.rs) {
					return false // `work to match underarm of back`
				}
				p.emit(tVerb, "twin", i, j)
				p.verb = "twin"
				if k > from {
					p.emitName(from, k)
				}
				if f, t, _ := p.nameRun(after); t > f {
					p.emit(tRel, "as", k, k+1)
					p.emitName(f, t)
					after = t
				}
				p.i = max(after, k+2)
				return true
			case "in", "into", "until", "till", "for", "even", "straight", "rows", "rounds", "row", "round", "sts", "times":
				return false
			case "exactly":
				continue
			case "same", "alike", "likewise":
				if k+1 < len(p.rs) && !(k+2 == len(p.rs) && p.key(k+1) == "way") {
					continue
				}
				end := k // `make the second sock the same`
				for end > from && (articles[p.rs[end-1].key] || p.rs[end-1].key == "in") {
					end--
				}
				if end == from || p.rs[end-1].kind == rawNum {
					return false // `make two the same`
				}
				p.emit(tVerb, "twin", i, j)
				p.verb = "twin"
				p.emitName(from, end)
				p.i = len(p.rs)
				return true
			case "as", "like":
				end := k
				if end > from && p.rs[end-1].key == "same" {
					end--
				}
				// `work right front the same as left front`
				for end > from && (articles[p.rs[end-1].key] || p.rs[end-1].key == "exactly") {
					end--
				}
				after := k + 1
				for after < len(p.rs) && (p.rs[after].key == "for" || p.rs[after].key == "given" || p.rs[after].key == "on") {
					after++
				}
				switch p.key(after) {
				case "set", "established", "before", "follows", "folls", "foll", "shown", "above", "written", "usual", "instructed", "directed", "described", "desired", "required",
					"needed", "necessary", "possible", "normal", "you", "many", "much", "they", "it", "":
					return false
				}
				f, t, _ := p.nameRun(after)
				if t == f {
					return false
				}
				p.emit(tVerb, "twin", i, j)
				p.verb = "twin"
				if end > from { // else the piece under whose heading it stands
					p.emitName(from, end)
				}
				p.emit(tRel, "as", k, k+1)
				p.emitName(f, t)
				p.i = t
				return true
			}
		}
	}
	return false
}

// numVal is the value of a number token, or nil.
func (t *tok) numVal() *big.Rat {
	if t.raw == nil {
		return nil
	}
	return t.raw.val
}
