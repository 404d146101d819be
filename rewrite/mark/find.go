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
	done []bool     // words that belong to something found, or to what is never an instruction
	last *candidate // what was found last
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
		f.last = &c
		i = c.to
	}
	return out
}

// candidate is a range of words that the notation reads as an instruction.
type candidate struct {
	stretch   *grammar.Stretch
	from, to  int
	mark      *grammar.Mark
	kind      string
	ties      []Tie
	notes     []string // why it got no tie that one might look for
	sums      bool     // it sums up changes told before it
	renamed   bool     // what it sets aside has the name under which it is taken up again
	reached   bool     // a count that shaping which is not marked leads to: `until 32 sts rem`
	added     bool     // a cast-on that adds to what is in hand
	lead      int      // bytes of emphasis before its first word that end within it
	toldTie   string   // what it says of the rows told in words before it
	toldTried bool     // that was tried
	until     bool     // it is worked as another piece only as far as what follows says
	off       bool     // left unmarked after all
	why       string   // why
}

func (c *candidate) span() grammar.Span {
	w := c.stretch.Words
	return grammar.Span{Start: w[c.from].Span.Start - c.lead, End: w[c.to-1].Span.End}
}

// longest is the longest instruction that begins at word i.
func (f *finder) longest(i int) (candidate, bool) {
	if f.done[i] || !f.mayBegin(i) {
		return candidate{}, false
	}
	ends := f.ends(i)
	for k := len(ends) - 1; k >= 0; k-- {
		j := ends[k]
		if f.torn(j) {
			continue
		}
		m := f.pl.Read(f.w[i:j])
		if m == nil || f.endless(m, j) || remarks(m) {
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
		return grammar.Begins(w.Key) && !(w.Key == "rib" && f.fabricBefore(i)) && !f.bothAtOnce(i)
	case grammar.NumberToken:
		return !w.Ordinal && w.Val != nil
	case grammar.SignToken:
		return w.Key == "(" || w.Key == "[" || w.Key == "*"
	}
	return false
}

// bothAtOnce says whether `at the same time` at word i is said of the two sides: `working both sides at the same time, dec …`.
func (f *finder) bothAtOnce(i int) bool {
	if f.key(i) != "at" || f.key(i+1) != "the" && f.key(i+1) != "same" || f.key(i+1) == "the" && f.key(i+2) != "same" {
		return false
	}
	switch f.key(i - 1) {
	case "sides", "shoulders", "halves", "fronts", "sleeves", "pieces":
		return true
	}
	return false
}

// fabricBefore says whether `rib` at word i is the name of a fabric, not a verb: `in k1, p1 rib for 7 cm`, `the double rib`.
func (f *finder) fabricBefore(i int) bool {
	if i == 0 {
		return false
	}
	b := &f.w[i-1]
	return b.Kind == grammar.NumberToken || b.Kind == grammar.WordToken && !beforeVerb[b.Key]
}

var beforeVerb = set(`and then now next again to`)

// torn says whether an end before word i would part what belongs together: a number from its unit, `every` or `the remaining` from
// what is counted, `at the same time` from what is done then.
func (f *finder) torn(i int) bool {
	if i < 1 || i >= len(f.w) {
		return false
	}
	last, next := &f.w[i-1], &f.w[i]
	unit := f.unitAt(i)
	for j := i; j < i+3 && grammar.OfStitches(f.key(j)); j++ {
		unit = unit || f.unitAt(j+1)
	}
	if last.Kind == grammar.NumberToken {
		return unit
	}
	switch last.Key {
	case ")", "]":
		return unit && i > 1 && f.w[i-2].Kind == grammar.NumberToken
	case "rs", "ws":
		return grammar.UnitOf(f.key(i)).IsRows()
	case "on":
		return f.key(i) == "hold"
	case "every", "each", "other", "alt", "alternate", "foll", "following", "next", "last", "remaining", "all", "the", "of":
		return unit && f.key(i) != "in" || next.Kind == grammar.NumberToken && last.Key != "all"
	case "time", "meanwhile", "simultaneously", "while":
		return (last.Key != "time" || f.key(i-2) == "same") && !(next.Kind == grammar.SignToken && next.Key == ".")
	}
	return false
}

// remarks says whether a count that is said was read as a second unit: `work 4 rows (98 sts)`.
func remarks(m *grammar.Mark) bool {
	odd := false
	grammar.Values(m.Phrase, func(v *grammar.Value) {
		odd = odd || v.Second != nil && !(v.Unit.IsLength() && v.Second.Unit.IsLength())
	})
	return odd
}

// endless says whether shaping that ends before word i has its end said there, and cannot be read with it:
// `at each end of every row until 32 sts rem`.
func (f *finder) endless(m *grammar.Mark, i int) bool {
	_, shapes := m.Phrase.(*grammar.Shape)
	k := f.firstAt(i)
	return shapes && (k == "until" || k == "till")
}

// firstAt is the word at i, the first one of a brace that stands there already.
func (f *finder) firstAt(i int) string {
	if i >= len(f.w) || f.w[i].Kind != grammar.MarkToken {
		return f.key(i)
	}
	words := strings.Fields(strings.TrimLeft(f.pl.File.Text(f.w[i].Span), "{ "))
	if len(words) == 0 {
		return ""
	}
	return grammar.Key(words[0])
}

// unitAt says whether word i is a unit of what is counted or measured; `in` is one only where no word follows that it leads to.
func (f *finder) unitAt(i int) bool {
	switch f.key(i) {
	case "\"", "%", "mm":
		return true
	case "in":
		return i+1 >= len(f.w) || f.w[i+1].Kind == grammar.SignToken || inchesFollowed[f.key(i+1)]
	}
	return i < len(f.w) && f.w[i].Kind == grammar.WordToken && grammar.UnitOf(f.key(i)) != grammar.NoUnit
}

var inchesFollowed = set(`from deep long wide high above below ending ended`)

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
				if depth == 0 && !f.countBefore(j) && f.key(j-1) != "height" {
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
	if p, ok := c.mark.Phrase.(*grammar.Spelled); ok && p.Times == nil {
		return // `rep from * around` says no more than `rep from *`, but belongs together
	}
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
		if !f.torn(to) && alike(c.from, to) {
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
	if _, joins := c.mark.Phrase.(*grammar.Join); joins && (roundWords[k] || k == "twist" && !f.says(c, "round", "rounds", "rnd", "rnds", "circle", "ring")) {
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
	case "yarn":
		return before.Key == "waste" || before.Key == "scrap"
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
	end, held := c.to, false
	for to := c.to; to < c.to+9 && to < len(f.w) && f.w[to].Kind == grammar.WordToken || f.key(to) == "-"; to++ {
		held = held || holders[f.key(to)]
		if !held && !beforeHolder[f.key(to)] || held && !holders[f.key(to)] && !holderKinds[f.key(to)] && f.key(to) != "-" {
			break
		}
		if held && f.pl.Read(f.w[c.from:to+1]) != nil {
			end = to + 1
		}
	}
	c.to = end
}

var roundWords = set(`round rounds rnd rnds circle ring`)
var beforeHolder = set(`unworked worked just on onto to a an the another piece length of some it sts st stitches these those all rem remaining`)
var holderKinds = set(`yarn needle needles holder holders pin pins dpn dpns string thread`)

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
	emphasis := 0
	for i := c.from + 1; i < c.to; i++ {
		for _, b := range src[f.w[i-1].Span.End:f.w[i].Span.Start] {
			switch {
			case b == '*' || b == '_':
				emphasis++
			case b != ' ' && b != '\t' && b != '\n' && b != '\r' && b != '>' && b < 0x80:
				return false
			}
		}
	}
	// `*at the same time* dec 1 st …`: its beginning stands before the first word
	at := f.w[c.from].Span.Start
	for c.lead = 0; c.lead < emphasis && at > c.lead && (src[at-c.lead-1] == '*' || src[at-c.lead-1] == '_'); c.lead++ {
	}
	return c.lead == emphasis || emphasis%2 == 0 && c.lead == 0
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
