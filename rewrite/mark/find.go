package mark

import (
	"fmt"
	"reflect"
	"strings"

	"gaugewright/grammar"
)

// maxWords is the longest instruction looked for, in words.
const maxWords = 48

// finder looks through one stretch of text.
type finder struct {
	pl   *grammar.Plain
	s    *grammar.Stretch
	w    []grammar.Token
	done []bool // words that belong to something found, or to what is never an instruction
}

// find gives the instructions of a stretch, first to last, as ranges of words.
func (f *finder) find() []candidate {
	var out []candidate
	for i := 0; i < len(f.w); {
		c, ok := f.longest(i)
		if !ok {
			i++
			continue
		}
		out = append(out, c)
		i = c.to
	}
	return out
}

// candidate is a range of words that the notation reads as an instruction.
type candidate struct {
	stretch  *grammar.Stretch
	from, to int
	mark     *grammar.Mark
	kind     string
	ties     []Tie
	sums     bool   // it sums up changes told before it
	renamed  bool   // what it sets aside has the name under which it is taken up again
	added    bool   // a cast-on that adds to what is in hand
	off      bool   // left unmarked after all
	why      string // why
}

func (c *candidate) span() grammar.Span {
	w := c.stretch.Words
	return grammar.Span{Start: w[c.from].Span.Start, End: w[c.to-1].Span.End}
}

// longest is the longest instruction that begins at word i.
func (f *finder) longest(i int) (candidate, bool) {
	if f.done[i] || !f.mayBegin(i) {
		return candidate{}, false
	}
	ends := f.ends(i)
	for k := len(ends) - 1; k >= 0; k-- {
		j := ends[k]
		m := f.pl.Read(f.w[i:j])
		if m == nil {
			continue
		}
		c := candidate{stretch: f.s, from: i, to: j, mark: m}
		f.trim(&c)
		if c.from != i {
			continue // it begins further on, and is found there
		}
		if c.kind = f.kind(&c); c.kind != "" && f.whole(&c) {
			return c, true
		}
	}
	return candidate{}, false
}

// mayBegin says whether an instruction can begin with word i at all.
func (f *finder) mayBegin(i int) bool {
	w := &f.w[i]
	switch w.Kind {
	case grammar.WordToken:
		return grammar.Begins(w.Key)
	case grammar.NumberToken:
		return !w.Ordinal && w.Val != nil
	case grammar.SignToken:
		return w.Key == "(" || w.Key == "[" || w.Key == "*"
	}
	return false
}

// ends are the places after words where an instruction that begins at i may end: not past the end of the sentence.
func (f *finder) ends(i int) []int {
	var out []int
	depth := 0
	for j := i; j < len(f.w) && j < i+maxWords; j++ {
		w := &f.w[j]
		if f.done[j] || w.Kind > grammar.SignToken {
			break
		}
		if w.Kind == grammar.SignToken {
			switch w.Key {
			case "(", "[":
				depth++
			case ")", "]":
				if depth == 0 {
					return out
				}
				depth--
			case ".":
				if f.stops(j) {
					return out
				}
			case ":":
				if depth == 0 && !f.introduces(i, j) {
					return out
				}
			case "=":
				if depth == 0 && !f.countBefore(j) {
					return out
				}
			case ";", "—", "!", "?":
				if depth == 0 && f.key(i) != "*" {
					return out
				}
			case "-":
				if j+1 < len(f.w) && f.w[j+1].Key == "-" || w.Blank && depth == 0 {
					return out
				}
			}
		}
		if depth == 0 {
			switch {
			case w.Kind == grammar.SignToken && strings.Contains(")]\"%", w.Key), w.Kind != grammar.SignToken:
				out = append(out, j+1)
			}
		}
	}
	return out
}

// introduces says whether a colon may stand within an instruction: `Cast-on: 40 sts`, `Divide the work: 25 sts for …`.
func (f *finder) introduces(i, j int) bool {
	switch f.key(i) {
	case "divide", "join", "split", "separate":
		return true
	}
	return j-i <= 3 && (f.key(i) == "cast" || f.key(i) == "co")
}

// abbreviated are words whose full stop may be their own.
var abbreviated = set(`st sts rep beg cont foll alt rem dec inc rnd rnds patt in ins cm approx k p tog sl no c o b co bo ev meas evy fol`)

// stops says whether the full stop at j ends a sentence.
func (f *finder) stops(j int) bool {
	if j == 0 || !abbreviated[f.w[j-1].Key] || f.w[j].Blank {
		return true
	}
	if j+1 >= len(f.w) {
		return true
	}
	n := &f.w[j+1]
	if n.Kind > grammar.SignToken {
		return true
	}
	if n.Kind == grammar.SignToken {
		return !strings.Contains(",;:)(", n.Key)
	}
	b := f.pl.File.Src[n.Span.Start]
	return n.Blank && b >= 'A' && b <= 'Z'
}

// trim takes words off both ends that do not change what is read.
func (f *finder) trim(c *candidate) {
	same := meaning(c.mark)
	alike := func(from, to int) bool {
		if f.openBracket(from, to) {
			return false
		}
		m := f.pl.Read(f.w[from:to])
		return m != nil && meaning(m) == same
	}
	least := c.from + 1
	for i := c.from; i < c.to; i++ {
		if f.keeps(c, i) {
			least = i + 1
		}
	}
	for to := least; to < c.to; to++ {
		if alike(c.from, to) {
			c.to = to
			break
		}
	}
	for from := c.to - 1; from > c.from && !f.says(c, "are", "is"); from-- {
		if alike(from, c.to) && !f.verbBetween(c.from, from) {
			c.from = from
			break
		}
	}
	f.onto(c)
	c.mark = f.pl.Read(f.w[c.from:c.to])
}

// keeps says whether a word belongs to the instruction for a reader though it changes nothing: units, `remain`.
func (f *finder) keeps(c *candidate, i int) bool {
	if i == c.from {
		return false
	}
	k, before := f.w[i].Key, &f.w[i-1]
	if _, cast := c.mark.Phrase.(*grammar.CastOn); cast && (f.w[i].Kind == grammar.NumberToken || k == "needles" || k == "needle" || k == "pins" || k == "pin") {
		return true
	}
	if grammar.UnitOf(k) != grammar.NoUnit && k != "in" {
		return before.Kind == grammar.NumberToken || before.Key == "alt" || before.Key == "alternate" || before.Key == ")" || before.Key == "]" || before.Key == "remaining" || before.Key == "rem" || before.Key == "all"
	}
	switch k {
	case "straight", "even", "more", "edge":
		return true
	case "spaced", "across":
		return before.Key == "evenly" || before.Key == "spaced"
	case "remain", "remains", "rem", "remaining":
		_, said := c.mark.Phrase.(*grammar.Statement)
		return !said
	case "evenly":
		return true
	}
	return false
}

func (f *finder) openBracket(from, to int) bool {
	depth := 0
	for i := from; i < to; i++ {
		switch f.w[i].Key {
		case "(", "[":
			depth++
		case ")", "]":
			depth--
		}
		if depth < 0 {
			return true
		}
	}
	return depth != 0
}

// onto takes what stitches are put on into the words that set them aside.
func (f *finder) onto(c *candidate) {
	if _, hold := c.mark.Phrase.(*grammar.Hold); !hold {
		return
	}
	for to := c.to; to < c.to+6 && to < len(f.w); to++ {
		if f.w[to].Kind != grammar.WordToken {
			return
		}
		if holders[f.w[to].Key] && f.pl.Read(f.w[c.from:to+1]) != nil {
			c.to = to + 1
			if to+3 < len(f.w) && f.w[to+1].Key == "-" && f.pl.Read(f.w[c.from:to+3]) != nil {
				c.to = to + 3
				return
			}
			if to+2 <= len(f.w)-1 && (f.w[to+1].Key == "yarn" || f.w[to+1].Key == "needle" || f.w[to+1].Key == "holder" || f.w[to+1].Key == "pin") && f.pl.Read(f.w[c.from:to+2]) != nil {
				c.to = to + 2
			}
			return
		}
	}
}

var workVerbs = set(`repeat rep join joining work knit purl continue cont rib proceed k p working`)

// verbBetween says whether a verb of work stands in [from, to), which a reader wants in the braces.
func (f *finder) verbBetween(from, to int) bool {
	for i := from; i < to; i++ {
		if workVerbs[f.w[i].Key] {
			return true
		}
	}
	return false
}

// whole says whether the words stand together in the source, so that braces can go round them: nothing between them but
// blanks, line ends and the markers of quotations.
func (f *finder) whole(c *candidate) bool {
	src := f.pl.File.Src
	for i := c.from + 1; i < c.to; i++ {
		for _, b := range src[f.w[i-1].Span.End:f.w[i].Span.Start] {
			if b != ' ' && b != '\t' && b != '\n' && b != '\r' && b != '>' && b < 0x80 {
				return false
			}
		}
	}
	return true
}

// meaning is what a mark says, apart from where it stands.
func meaning(m *grammar.Mark) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%v %v %v %v %v", m.FromHere, m.SameRow, m.SpelledOut, m.Ending, m.RowWord)
	if m.Fabric != nil {
		b.WriteString(" in " + m.Fabric.Key)
	}
	for _, o := range m.Only {
		b.WriteString(" only " + o.Key)
	}
	for _, t := range m.Ties {
		write(&b, reflect.ValueOf(t))
	}
	write(&b, reflect.ValueOf(m.Phrase))
	return b.String()
}

var spanType, wordType, numType = reflect.TypeOf(grammar.Span{}), reflect.TypeOf(grammar.Word{}), reflect.TypeOf(grammar.Num{})

// write writes a tree without its places.
func write(b *strings.Builder, v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			b.WriteString("-")
			return
		}
		write(b, v.Elem())
	case reflect.Struct:
		switch v.Type() {
		case spanType:
			return
		case wordType:
			b.WriteString(v.Interface().(grammar.Word).Key)
			return
		case numType:
			if n := v.Interface().(grammar.Num); n.Val != nil {
				b.WriteString(n.Val.RatString())
			}
			return
		}
		b.WriteString(v.Type().Name() + "{")
		for i := range v.NumField() {
			if v.Type().Field(i).Name == "Style" {
				continue
			}
			write(b, v.Field(i))
			b.WriteByte(' ')
		}
		b.WriteByte('}')
	case reflect.Slice:
		b.WriteByte('[')
		for i := range v.Len() {
			write(b, v.Index(i))
			b.WriteByte(' ')
		}
		b.WriteByte(']')
	default:
		fmt.Fprint(b, v.Interface())
	}
}

func set(words string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(words) {
		out[w] = true
	}
	return out
}
