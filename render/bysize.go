package render

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// A page lets its reader choose a size. Every list of sizes, `90 (94, 102)`, is therefore written value by value, each with
// the size it is for: `<span class="z z2"><i> (</i>94</span>`. What joins the values stands in an element of its own, so
// that it can go where the others go. Without a choice the list reads as it always does.

// sizeList is a list of sizes in a text: where each value stands, and where the list ends, its last bracket included.
type sizeList struct {
	values []textSpan
	end    int
}

type textSpan struct{ from, to int }

// sizeLists finds the lists of so many values in the text of an instruction, where a number followed by numbers in brackets
// is always such a list.
func sizeLists(text string, counts ...int) []sizeList {
	if !strings.ContainsAny(text, "([/") {
		return nil
	}
	var out []sizeList
	sums := 0 // as far as sums have been looked at
	for i := 0; i < len(text); {
		if b := text[i]; b < utf8.RuneSelf && (b < '0' || b > '9') && !isBlank(b) {
			i++ // nothing begins with it
			continue
		}
		j := valueAt(text, i)
		if j == i {
			_, n := utf8.DecodeRuneInString(text[i:])
			i += n
			continue
		}
		l, ok := sizeListAt(text, i, j)
		if i >= sums {
			// `12 + 12 + 16 (12 + 16 + 16)`: sums in the brackets, so what stands before them is a sum.
			if sums = sumAt(text, i); sums > j {
				if s, is := sizeListAt(text, i, sums); is && strings.Contains(text[sums:s.end], "+") {
					l, ok = s, true
				}
			}
		}
		if ok {
			for _, n := range counts {
				if n == len(l.values) && n > 1 {
					out = append(out, l)
					j = l.end
					break
				}
			}
		}
		i = j
	}
	return out
}

// sizeListAt reads the brackets behind a first value.
func sizeListAt(text string, from, to int) (sizeList, bool) {
	l := sizeList{values: []textSpan{{from, to}}, end: to}
	// `88/96/104`, three or more without blanks.
	for l.end < len(text) && text[l.end] == '/' {
		j := plainAt(text, l.end+1)
		if j == l.end+1 {
			break
		}
		l.values, l.end = append(l.values, textSpan{l.end + 1, j}), j
	}
	if len(l.values) > 1 {
		return l, len(l.values) > 2
	}
	for {
		i := skipBlanks(text, l.end)
		if i >= len(text) || text[i] != '(' && text[i] != '[' {
			break
		}
		inside := []textSpan(nil)
		for sign := ""; ; {
			i = skipBlanks(text, i+max(1, len(sign)))
			j := sumAt(text, i)
			if strings.HasPrefix(text[i:], "–") {
				j = i + len("–") // no value for that size
			}
			if j == i {
				return l, len(l.values) > 1
			}
			inside = append(inside, textSpan{i, j})
			i = skipBlanks(text, j)
			if sign = separator(text[i:]); sign == "" {
				break
			}
		}
		if i >= len(text) || text[i] != ')' && text[i] != ']' {
			return l, len(l.values) > 1
		}
		l.values, l.end = append(l.values, inside...), i+1
	}
	return l, len(l.values) > 1
}

// separator is the sign between two values that a text begins with.
func separator(s string) string {
	for _, sign := range [...]string{",", ";", ":", "/", "—", "–", "-"} {
		if strings.HasPrefix(s, sign) {
			return sign
		}
	}
	return ""
}

func isBlank(b byte) bool { return b == ' ' || b >= '\t' && b <= '\r' }

func skipBlanks(s string, i int) int {
	for i < len(s) {
		if s[i] < utf8.RuneSelf {
			if !isBlank(s[i]) {
				break
			}
			i++
			continue
		}
		r, n := utf8.DecodeRuneInString(s[i:])
		if !unicode.IsSpace(r) {
			break
		}
		i += n
	}
	return i
}

// sumAt is the end of a value, or of a sum of values, that begins at i.
func sumAt(s string, i int) int {
	j := valueAt(s, i)
	for j > i {
		k := skipBlanks(s, j)
		if k >= len(s) || s[k] != '+' {
			break
		}
		k = skipBlanks(s, k+1)
		end := valueAt(s, k)
		if end == k {
			break
		}
		j = end
	}
	return j
}

const vulgar = "½¼¾⅓⅔⅛⅜⅝⅞"

// valueAt is the end of the number that begins at i: `98`, `15.5`, `15½`, `15 1/2`, `9th`; i itself where none
// does.
func valueAt(s string, i int) int {
	if i > 0 {
		if r, _ := utf8.DecodeLastRuneInString(s[:i]); r == '.' || unicode.IsLetter(r) || unicode.IsDigit(r) {
			return i
		}
	}
	j := plainAt(s, i)
	if j > i {
		for _, ending := range [...]string{"st", "nd", "rd", "th"} {
			if strings.HasPrefix(s[j:], ending) && !letterAt(s, j+2) {
				return j + 2
			}
		}
		if k := fractionEnd(s, i); k > i {
			return k
		}
		if k := skipBlanks(s, j); k > j {
			j = max(j, fractionEnd(s, k))
		}
	}
	if k := skipBlanks(s, j); k < len(s) {
		if r, n := utf8.DecodeRuneInString(s[k:]); strings.ContainsRune(vulgar, r) {
			return k + n
		}
	}
	return j
}

// plainAt is the end of digits, with a decimal point among them or not, that begin at i.
func plainAt(s string, i int) int {
	j := i
	for j < len(s) && (s[j] >= '0' && s[j] <= '9' || s[j] == '.' && j > i && j+1 < len(s) && s[j+1] >= '0' && s[j+1] <= '9') {
		j++
	}
	return j
}

// fractionEnd is the end of a fraction like `3/4` that begins at i, 0 where none does.
func fractionEnd(s string, i int) int {
	if i+2 < len(s) && s[i] >= '1' && s[i] <= '9' && s[i+1] == '/' && s[i+2] >= '2' && s[i+2] <= '9' && !letterAt(s, i+3) && (i+3 >= len(s) || s[i+3] < '/' || s[i+3] > '9') {
		return i + 3
	}
	return 0
}

func letterAt(s string, i int) bool {
	r, _ := utf8.DecodeRuneInString(s[min(i, len(s)):])
	return unicode.IsLetter(r)
}

// part is a stretch of a text, with what changed in it set in bold.
type part struct {
	text string
	bold bool
}

// bySize writes texts whose lists of sizes are told apart.
type bySize struct {
	of    [][]int // for the length of a list: which size of the result each value is for, from 1; 0 none
	parts []part
	bold  string // the tag that opens what is bold
	next  int    // the part that is to be written next
	at    int    // the place of its first byte in all of them together
}

// sizing is what lists of sizes are for: in what now stands every size of the result, in the draft those drafted; nil where there
// is but one size.
func sizing(c *rewrite.Conversion) (now, drafted []int) {
	if len(c.Targets) < 2 {
		return nil, nil
	}
	drafted = make([]int, len(c.Draft.Sizes))
	for t := range c.Targets {
		if b := c.Targets[t].Base(); b < len(drafted) {
			drafted[b] = t + 1
		}
	}
	return everySize(len(c.Targets)), drafted
}

// forSizes says what the lists of the next text are for: all sizes, or only some.
func (x *bySize) forSizes(all, only []int) {
	x.of = x.of[:0]
	if all == nil {
		return
	}
	x.of = append(x.of, all)
	if only != nil && len(only) != len(all) {
		x.of = append(x.of, only)
	}
}

// everySize is what the values of a list are for that has one for each of so many sizes.
func everySize(sizes int) []int {
	out := make([]int, sizes)
	for i := range out {
		out[i] = i + 1
	}
	return out
}

// onlySizes are the sizes of the result, from 1, that an instruction is for; nil where it is for all of them.
func onlySizes(c *rewrite.Conversion, mark int) []int {
	m := c.Draft.File.Marks[mark]
	if len(m.Only) == 0 {
		return nil
	}
	var out []int
	for t := range c.Targets {
		b := c.Targets[t].Base()
		for _, o := range m.Only {
			if b < len(c.Draft.Sizes) && grammar.Key(c.Draft.Sizes[b]) == o.Key {
				out = append(out, t+1)
				break
			}
		}
	}
	if len(out) == len(c.Targets) {
		return nil
	}
	return out
}

// write writes the parts and forgets them.
func (x *bySize) write(m *markup) {
	text := x.text()
	at := 0
	for _, l := range x.lists(text) {
		of := x.of[slices.IndexFunc(x.of, func(of []int) bool { return len(of) == len(l.values) })]
		from := l.values[0].from
		x.stretch(m, at, from)
		for i, v := range l.values {
			m.raw(`<span class="z`)
			if of[i] > 0 {
				m.raw(" z")
				m.whole(of[i])
			}
			m.raw(`">`)
			x.joint(m, from, v.from)
			x.stretch(m, v.from, v.to)
			from = v.to
			if i == len(l.values)-1 {
				x.joint(m, v.to, l.end)
			}
			m.raw("</span>")
		}
		at = l.end
	}
	x.stretch(m, at, len(text))
	x.parts, x.next, x.at = x.parts[:0], 0, 0
}

func (x *bySize) text() string {
	if len(x.parts) == 1 {
		return x.parts[0].text
	}
	var b strings.Builder
	for i := range x.parts {
		b.WriteString(x.parts[i].text)
	}
	return b.String()
}

func (x *bySize) lists(text string) []sizeList {
	switch len(x.of) {
	case 0:
		return nil
	case 1:
		return sizeLists(text, len(x.of[0]))
	}
	return sizeLists(text, len(x.of[0]), len(x.of[1]))
}

// joint writes what joins two values of a list.
func (x *bySize) joint(m *markup, from, to int) {
	if from < to {
		m.raw("<i>")
		x.stretch(m, from, to)
		m.raw("</i>")
	}
}

// stretch writes the bytes [from, to) of all parts together; it goes on from the one written last.
func (x *bySize) stretch(m *markup, from, to int) {
	for ; from < to && x.next < len(x.parts); x.next++ {
		p := &x.parts[x.next]
		if a, b := from-x.at, min(to-x.at, len(p.text)); a < b {
			if p.bold {
				m.raw(x.bold)
			}
			m.text(p.text[a:b])
			if p.bold {
				m.raw("</b>")
			}
			from = x.at + b
		}
		if from < x.at+len(p.text) {
			return
		}
		x.at += len(p.text)
	}
}

// sizeNamesList writes the sizes' own names as they are listed, each for itself, where a text is that list and nothing else.
// It reports whether it is.
func sizeNamesList(m *markup, text string, names []string) bool {
	if len(names) < 2 {
		return false
	}
	var at []textSpan
	i := 0
	for _, n := range names {
		k := strings.Index(text[i:], n)
		if k < 0 {
			return false
		}
		at = append(at, textSpan{i + k, i + k + len(n)})
		i += k + len(n)
	}
	if strings.ContainsFunc(text[:at[0].from]+text[i:], unicode.IsLetter) {
		return false
	}
	from := 0
	for k, v := range at {
		to := v.to
		m.raw(`<span class="z z`, strconv.Itoa(k+1), `">`)
		if from < v.from {
			m.raw("<i>")
			m.text(text[from:v.from])
			m.raw("</i>")
		}
		m.text(text[v.from:to])
		if k == len(at)-1 && to < len(text) {
			m.raw("<i>")
			m.text(text[to:])
			m.raw("</i>")
		}
		m.raw("</span>")
		from = to
	}
	return true
}
