package render

import (
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/sergi/go-diff/diffmatchpatch"
)

// run is a run of words in a comparison of two sentences.
type run struct {
	text string
	is   where
}

// where says which of two sentences a run of words stands in.
type where uint8

const (
	both where = iota
	gone       // in the old one alone
	come       // in the new one alone
)

// The most words of a sentence that are compared; a longer one is shown whole, old and new.
const maxWords = 2000

// The private use planes of Unicode: a symbol taken there is never a surrogate.
const firstSymbol = 0xf0000

// wordDiffer compares sentences by whole words and numbers, each one symbol, so that 112 never half becomes 128. Its
// memory serves one comparison after another.
type wordDiffer struct {
	coarse   bool // a word or two that stay the same between much that does not are told with that
	symbols  map[string]rune
	old, new sentence
	out      []run
}

// sentence is text cut into words: the symbol of each, and where each ends.
type sentence struct {
	text    string
	symbols []rune
	ends    []int
}

// upTo is the text from an offset to the end of the word at i-1, and that end.
func (s *sentence) upTo(from, i int) (string, int) {
	end := 0
	if i > 0 {
		end = s.ends[i-1]
	}
	return s.text[from:end], end
}

func (d *wordDiffer) read(s *sentence, text string) {
	s.text, s.symbols, s.ends = text, s.symbols[:0], s.ends[:0]
	for from := 0; from < len(text); {
		end := from + token(text[from:])
		r, ok := d.symbols[text[from:end]]
		if !ok {
			r = rune(firstSymbol + len(d.symbols))
			d.symbols[text[from:end]] = r
		}
		s.symbols, s.ends = append(s.symbols, r), append(s.ends, end)
		from = end
	}
}

// diff is the words that went, came and stayed, in the order of the sentences; what went stands before what came. It
// holds until the next call.
func (d *wordDiffer) diff(was, now string) []run {
	if d.symbols == nil {
		d.symbols = map[string]rune{}
	}
	clear(d.symbols)
	d.out = d.out[:0]
	d.read(&d.old, was)
	d.read(&d.new, now)
	if len(d.old.symbols) > maxWords || len(d.new.symbols) > maxWords {
		return append(d.out, run{was, gone}, run{now, come})
	}
	m := diffmatchpatch.New()
	m.DiffTimeout = 0 // a result never depends on how busy the machine is
	diffs := m.DiffMainRunes(d.old.symbols, d.new.symbols, false)
	if d.coarse {
		diffs = m.DiffCleanupSemantic(diffs)
	}
	var e emitter
	i, j := 0, 0
	for _, x := range diffs {
		n := utf8.RuneCountInString(x.Text)
		switch x.Type {
		case diffmatchpatch.DiffDelete:
			i += n
			e.emit(d, gone, i, 0)
		case diffmatchpatch.DiffInsert:
			j += n
			e.emit(d, come, 0, j)
		default:
			i, j = i+n, j+n
			e.emit(d, both, i, j)
		}
	}
	return d.out
}

// emitter writes runs out; it knows up to where in each text they go so far.
type emitter struct{ old, new int }

// emit writes the words up to i of the old sentence or j of the new one, or both, which then are the same.
func (e *emitter) emit(d *wordDiffer, is where, i, j int) {
	var text string
	if is != come {
		text, e.old = d.old.upTo(e.old, i)
	}
	if is != gone {
		text, e.new = d.new.upTo(e.new, j)
	}
	if text != "" {
		d.out = append(d.out, run{text, is})
	}
}

// token is the length of the first word of s, which is not empty: a word or number with what is written onto it, a single
// sign, or blanks.
func token(s string) int {
	first := 0
	for i, r := range s {
		kind := 2
		switch r {
		case ' ', '\t', '\u00a0':
			kind = 1
		case '(', ')', '[', ']', '{', '}', ',', ':', ';', '+', '*', '/':
			kind = 3
		}
		if i > 0 && (kind != first || kind == 3) {
			return i
		}
		first = kind
	}
	return len(s)
}

// listDiffer compares sentences as wordDiffer does, with the list of a number's values, `5 (6, 6)`, as one word.
type listDiffer struct{ words wordDiffer }

var oneList = regexp.MustCompile(`[\d½¼¾⅓⅔⅛⅜⅝⅞.]+(?:st|nd|rd|th)?(?: ?[(\[][\d½¼¾⅓⅔⅛⅜⅝⅞.,:; –]+(?:st|nd|rd|th)?[)\]])+`)

// The private use area of the basic plane: a sign of it stands for a list.
const (
	firstList = 0xe000
	lastList  = 0xf8ff
)

// diff gives runs that are the caller's to keep.
func (d *listDiffer) diff(was, now string) []run {
	ids := map[string]rune{}
	var lists []string
	shorten := func(s string) string {
		return oneList.ReplaceAllStringFunc(s, func(l string) string {
			r, ok := ids[l]
			if !ok {
				r = rune(firstList + len(lists))
				ids[l] = r
				lists = append(lists, l)
			}
			return string(r)
		})
	}
	d.words.coarse = true
	private := func(r rune) bool { return r >= firstList && r <= lastList }
	if strings.ContainsFunc(was+now, private) {
		return slices.Clone(d.words.diff(was, now))
	}
	a, b := shorten(was), shorten(now)
	if len(lists) > lastList-firstList {
		return slices.Clone(d.words.diff(was, now))
	}
	out := slices.Clone(d.words.diff(a, b))
	for i := range out {
		var s strings.Builder
		for _, r := range out[i].text {
			if private(r) {
				s.WriteString(lists[r-firstList])
			} else {
				s.WriteRune(r)
			}
		}
		out[i].text = s.String()
	}
	return out
}
