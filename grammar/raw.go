package grammar

import (
	"math/big"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// rawKind is what a piece of text is before the vocabulary is asked.
type rawKind uint8

const (
	rawWord rawKind = iota
	rawNum
	rawPunct
)

// raw is one token as it was written. Text has escapes undone; key is its spelling for comparison (punctuation is
// folded: `×` is `*`, `−` and `–` are `-`, all inch marks are `"`).
type raw struct {
	kind    rawKind
	span    Span
	key     string
	val     *big.Rat
	spelled bool // a number in words
	ordinal bool // `4th`
	times   bool // `once`, `twice`
	blank   bool // white space, or a line's end, stands before it
	clean   bool // the span holds the spelling without interruption (no escapes, no quote markers)
}

// scanner reads tokens from pieces of a source that need not touch one another: a mark wrapped over the lines of a
// quotation has the quotation's own markers between its pieces.
type scanner struct {
	src  string
	expr bool // an expression: a minus right before a digit may belong to the number
	out  []raw
}

// scanRaw puts the tokens in room as far as they fit.
func scanRaw(room []raw, src string, pieces []Span, expr bool) []raw {
	n := 0
	for _, p := range pieces {
		n += p.End - p.Start
	}
	s := &scanner{src: src, expr: expr, out: slices.Grow(room, n/4+4)}
	for i, p := range pieces {
		s.piece(p, i > 0)
	}
	return joinNumberWords(s.out)
}

// scanText reads the tokens of a text of its own.
func scanText(text string, expr bool) []raw { return scanRaw(nil, text, []Span{{0, len(text)}}, expr) }

func isSpaceRune(r rune) bool {
	return r == ' ' || r == '\t' || r == '\n' || r == '\r' || r > 0x7f && (unicode.IsSpace(r) || r == '\u200b' || r == '\ufeff' || r == '\u2060')
}

func isAsciiPunct(b byte) bool {
	return b > ' ' && b < 0x7f && !isDigit(b) && (b|0x20 < 'a' || b|0x20 > 'z')
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

var vulgar = map[rune]*big.Rat{
	'½': big.NewRat(1, 2), '¼': big.NewRat(1, 4), '¾': big.NewRat(3, 4), '⅓': big.NewRat(1, 3), '⅔': big.NewRat(2, 3),
	'⅛': big.NewRat(1, 8), '⅜': big.NewRat(3, 8), '⅝': big.NewRat(5, 8), '⅞': big.NewRat(7, 8), '⅕': big.NewRat(1, 5),
	'⅖': big.NewRat(2, 5), '⅗': big.NewRat(3, 5), '⅘': big.NewRat(4, 5), '⅙': big.NewRat(1, 6), '⅚': big.NewRat(5, 6),
	'⅐': big.NewRat(1, 7), '⅑': big.NewRat(1, 9), '⅒': big.NewRat(1, 10),
}

// fraction is the value of a sign like `½`, or nil.
func fraction(r rune) *big.Rat {
	if r < utf8.RuneSelf {
		return nil
	}
	return vulgar[r]
}

// maxDigits bounds the digits of one number, so that arithmetic on it stays cheap.
const maxDigits = 12

func (s *scanner) piece(p Span, blank bool) {
	i := p.Start
	for i < p.End {
		b := s.src[i]
		if b == '\\' && i+1 < p.End && isAsciiPunct(s.src[i+1]) {
			// Formatters escape what Markdown might read: inside braces the backslash is not there.
			i = s.word(i, p.End, blank)
			blank = false
			continue
		}
		r, w := rune(b), 1
		if b >= utf8.RuneSelf {
			r, w = utf8.DecodeRuneInString(s.src[i:p.End])
		}
		switch {
		case isSpaceRune(r):
			blank = true
			i += w
			continue
		case isDigit(b), b == '.' && i+1 < p.End && isDigit(s.src[i+1]), fraction(r) != nil:
			i = s.number(i, p.End, blank)
		case unicode.IsLetter(r) || r == '_':
			i = s.word(i, p.End, blank)
		default:
			i = s.punct(i, i, w, r, p.End, blank)
		}
		blank = false
	}
}

// punct adds one mark of punctuation; start is where its escape begins, or i.
func (s *scanner) punct(start, i, w int, r rune, end int, blank bool) int {
	key := s.src[i : i+w]
	switch r {
	case '×', '∗', '⋅', '·':
		key = "*"
	case '÷', '⁄':
		key = "/"
	case '−', '–', '‐', '‑', '‒':
		key = "-"
	case '—', '―':
		key = "—"
	case '″', '”', '“', '"':
		key = `"`
	case '’', '‘':
		key = "'"
	}
	if s.expr && key == "-" && s.minusBelongs(i+w, end) {
		return s.number(i, end, blank)
	}
	if key == "'" && i+w < end && s.src[i+w] == '\'' {
		w++
		key = `"`
	}
	s.out = append(s.out, raw{kind: rawPunct, span: Span{i, i + w}, key: key, blank: blank, clean: true})
	return i + w
}

// minusBelongs says whether a minus that is followed at once by a digit is part of the number: where no operand
// stands before it that it could be taken from.
func (s *scanner) minusBelongs(next, end int) bool {
	if next < end && s.src[next] == '.' {
		next++
	}
	if next >= end || !isDigit(s.src[next]) {
		return false
	}
	if len(s.out) == 0 {
		return true
	}
	last := s.out[len(s.out)-1]
	return last.kind == rawPunct && !strings.Contains(`)]%"'`, last.key)
}

// number reads `98`, `15.5`, `15½`, `15 1/2`, `1/2`, `4th`, and with a sign before it `−3`.
func (s *scanner) number(i, end int, blank bool) int {
	start := i
	neg := false
	if b := s.src[i]; !isDigit(b) && b != '.' {
		if r, w := utf8.DecodeRuneInString(s.src[i:end]); fraction(r) == nil {
			neg = true
			i += w
		}
	}
	digits := func(i int) int {
		for i < end && isDigit(s.src[i]) {
			i++
		}
		return i
	}
	tok := raw{kind: rawNum, blank: blank, clean: true}
	val := new(big.Rat)
	whole := i
	i = digits(i)
	isWhole := i > whole
	tooLong := i-whole > maxDigits
	if i+1 < end && s.src[i] == '.' && isDigit(s.src[i+1]) {
		i = digits(i + 1)
		isWhole = false
	}
	if i-whole > 2*maxDigits {
		tooLong = true
	}
	if i > whole && !tooLong {
		setDecimal(val, s.src[whole:i])
	}
	// frac reads d/d at j; the slash touches both.
	frac := func(j int) (*big.Rat, int) {
		a := digits(j)
		if a == j || a-j > 4 || a >= end {
			return nil, j
		}
		k := a + 1
		if s.src[a] != '/' {
			r, w := utf8.DecodeRuneInString(s.src[a:end])
			if r != '⁄' {
				return nil, j
			}
			k = a + w
		}
		e := digits(k)
		if e == k || e-k > 4 {
			return nil, j
		}
		if e < end && (s.src[e] == '.' && e+1 < end && isDigit(s.src[e+1]) || s.src[e] == '/') {
			return nil, j
		}
		den, _ := strconv.ParseInt(s.src[k:e], 10, 64)
		num, _ := strconv.ParseInt(s.src[j:a], 10, 64)
		if den == 0 {
			return nil, j
		}
		return big.NewRat(num, den), e
	}
	if isWhole && !tooLong && (start == 0 || s.src[start-1] != '/') {
		if f, e := frac(whole); f != nil {
			val, i = f, e
			isWhole = false
		}
	}
	if (isWhole || i == whole) && !tooLong {
		// `15½`, `15 ½`, `½`
		j := i
		for j < end && i > whole {
			r, w := utf8.DecodeRuneInString(s.src[j:end])
			if r == '\n' || !isSpaceRune(r) {
				break
			}
			j += w
		}
		if j < end {
			if r, w := utf8.DecodeRuneInString(s.src[j:end]); fraction(r) != nil {
				val.Add(val, fraction(r))
				i = j + w
				isWhole = false
			} else if j > i || i < end && s.src[i] == '-' && !s.expr {
				// `15 1/2`, and in a phrase `15-1/2`
				k := j
				if j == i {
					k = i + 1
				}
				if f, e := frac(k); f != nil && f.Cmp(big.NewRat(1, 1)) < 0 && i > whole {
					val.Add(val, f)
					i = e
					isWhole = false
				}
			}
		}
	}
	if isWhole && i+1 < end {
		if s.src[i] == 'd' && (s.src[i-1] == '2' || s.src[i-1] == '3') {
			if r, _ := utf8.DecodeRuneInString(s.src[i+1 : end]); !unicode.IsLetter(r) && !unicode.IsDigit(r) {
				tok.ordinal = true // `2d`, `123d`, as they once were written
				i++
			}
		}
		suffix := ""
		if i+1 < end {
			suffix = strings.ToLower(s.src[i : i+2])
		}
		if suffix == "st" || suffix == "nd" || suffix == "rd" || suffix == "th" {
			if r, _ := utf8.DecodeRuneInString(s.src[i+2 : end]); !unicode.IsLetter(r) && !unicode.IsDigit(r) {
				tok.ordinal = true
				i += 2
			}
		}
	}
	if neg {
		val.Neg(val)
	}
	tok.span = Span{start, i}
	tok.val = val
	if tooLong {
		tok.val = nil
	}
	tok.key = strings.ToLower(s.src[start:i])
	s.out = append(s.out, tok)
	return i
}

// setDecimal sets val to digits with or without a point among them.
func setDecimal(val *big.Rat, digits string) {
	if n, err := strconv.ParseInt(digits, 10, 64); err == nil {
		val.SetInt64(n)
		return
	}
	whole, part, _ := strings.Cut(digits, ".")
	n, err := strconv.ParseInt(whole+part, 10, 64)
	if err != nil || len(part) >= len(powersOfTen) {
		val.SetString(digits)
		return
	}
	val.SetFrac64(n, powersOfTen[len(part)])
}

var powersOfTen = [...]int64{1, 10, 100, 1000, 10_000}

// plainWord is where a word ends that begins at i, if it is of ASCII letters and nothing else; else i.
func (s *scanner) plainWord(i, end int) int {
	j := i
	for j < end && isAsciiLetter(s.src[j]) {
		j++
	}
	if j < end {
		if b := s.src[j]; b >= utf8.RuneSelf || isDigit(b) || b == '_' || b == '\'' || b == '\\' {
			return i
		}
	}
	return j
}

func isAsciiLetter(b byte) bool { return b|0x20 >= 'a' && b|0x20 <= 'z' }

// word reads letters and what may stand among them; a leading escape hands over to punct.
func (s *scanner) word(i, end int, blank bool) int {
	if j := s.plainWord(i, end); j > i {
		s.out = append(s.out, raw{kind: rawWord, span: Span{i, j}, key: strings.ToLower(s.src[i:j]), blank: blank, clean: true})
		return j
	}
	start := i
	var text strings.Builder
	clean := true
	for i < end {
		r, w := utf8.DecodeRuneInString(s.src[i:end])
		if r == '\\' && i+1 < end && isAsciiPunct(s.src[i+1]) {
			if s.src[i+1] == '_' {
				clean = false
				i++
				continue
			}
			if i == start {
				r, w := utf8.DecodeRuneInString(s.src[i+1 : end])
				return s.punct(i, i+1, w, r, end, blank)
			}
			break
		}
		if unicode.IsLetter(r) || unicode.IsMark(r) || r == '_' || unicode.IsDigit(r) && i > start {
			text.WriteRune(r)
			i += w
			continue
		}
		if (r == '\'' || r == '’') && i > start && i+w < end {
			if n, _ := utf8.DecodeRuneInString(s.src[i+w : end]); unicode.IsLetter(n) {
				text.WriteByte('\'')
				i += w
				continue
			}
		}
		break
	}
	key := strings.ToLower(text.String())
	tok := raw{kind: rawWord, span: Span{start, i}, key: key, blank: blank, clean: clean}
	if !clean {
		// A backslash at the very start is not part of the word's span.
		for tok.span.Start < i && s.src[tok.span.Start] == '\\' {
			tok.span.Start++
		}
	}
	s.out = append(s.out, tok)
	return i
}

var numberWords = map[string]int64{
	"zero": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
	"eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16, "seventeen": 17,
	"eighteen": 18, "nineteen": 19, "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70,
	"eighty": 80, "ninety": 90,
}

// singleWords are numbers that one word makes.
var singleWords = map[string]struct {
	val            int64
	times, ordinal bool
}{
	"once": {1, true, false}, "twice": {2, true, false}, "thrice": {3, true, false},
	"second": {2, false, true}, "third": {3, false, true}, "fourth": {4, false, true}, "fifth": {5, false, true}, "sixth": {6, false, true},
	"seventh": {7, false, true}, "eighth": {8, false, true}, "ninth": {9, false, true}, "tenth": {10, false, true},
	"eleventh": {11, false, true}, "twelfth": {12, false, true}, "sixteenth": {16, false, true}, "twentieth": {20, false, true},
}

// longestNumberWord is the most letters of any of them.
const longestNumberWord = len("seventeen")

// joinNumberWords turns `twenty-one` and `one hundred and four` into one number each. The words keep their spelling,
// for a name may hold them.
func joinNumberWords(in []raw) []raw {
	any := false
	for i := range in {
		if n := len(in[i].key); in[i].kind == rawWord && n >= 3 && n <= longestNumberWord {
			if _, ok := numberWords[in[i].key]; ok {
				any = true
			} else if w, ok := singleWords[in[i].key]; ok {
				in[i].kind, in[i].val, in[i].spelled, in[i].times, in[i].ordinal = rawNum, new(big.Rat).SetInt64(w.val), true, w.times, w.ordinal
			}
		}
	}
	if !any {
		return in
	}
	out := in[:0] // never longer than what has been read
	for i := 0; i < len(in); {
		j, v := numberAt(in, i)
		if j == i {
			out = append(out, in[i])
			i++
			continue
		}
		t := in[i]
		t.kind, t.spelled, t.val = rawNum, true, new(big.Rat).SetInt64(v)
		t.span.End = in[j-1].span.End
		var key strings.Builder
		for k := i; k < j; k++ {
			if k > i && in[k].blank {
				key.WriteByte(' ')
			}
			key.WriteString(in[k].key)
			t.clean = t.clean && in[k].clean
		}
		t.key = key.String()
		out = append(out, t)
		i = j
	}
	return out
}

// numberAt reads a number in words that begins at i; it returns i where there is none.
func numberAt(in []raw, i int) (int, int64) {
	small := func(i int) (int, int64) {
		if i >= len(in) || in[i].kind != rawWord {
			return i, 0
		}
		v, ok := numberWords[in[i].key]
		if !ok {
			return i, 0
		}
		if v >= 20 {
			j := i + 1
			if j < len(in) && in[j].kind == rawPunct && in[j].key == "-" && !in[j].blank {
				j++
			}
			if j < len(in) && in[j].kind == rawWord {
				if u, ok := numberWords[in[j].key]; ok && u > 0 && u < 10 {
					return j + 1, v + u
				}
			}
		}
		return i + 1, v
	}
	j, v := small(i)
	if j == i {
		return i, 0
	}
	if j < len(in) && in[j].kind == rawWord && in[j].key == "hundred" && v < 100 {
		v *= 100
		j++
		k := j
		if k < len(in) && in[k].kind == rawWord && in[k].key == "and" {
			k++
		}
		if e, u := small(k); e > k {
			return e, v + u
		}
	}
	return j, v
}

// NumberValue reads the spelling of one number (`15½`, `15 1/2`, `4th`, `twenty-one`, `twice`) and says whether it is
// one and nothing else.
func NumberValue(text string) (*big.Rat, bool) {
	toks := scanText(text, true)
	if len(toks) == 2 && toks[0].kind == rawPunct && toks[0].key == "-" && toks[1].val != nil {
		return new(big.Rat).Neg(toks[1].val), true
	}
	if len(toks) != 1 || toks[0].kind != rawNum || toks[0].val == nil {
		if toks = scanText(text, false); len(toks) != 1 || toks[0].kind != rawNum || toks[0].val == nil {
			return nil, false
		}
	}
	return toks[0].val, true
}
