package rewrite

import (
	"sort"
	"strings"

	"gaugewright/grammar"
)

// para is a stretch of a draft's text that is compared as one: a paragraph, a heading, an item of a list, a row of a table,
// white space folded. Instructions stand in it by their words, without numbers.
type para struct {
	span    grammar.Span
	heading int    // the heading it stands under, or is; -1
	text    string // as it is shown
	bare    string // without what joins a sentence, and without the instructions that came, went or were moved
	loose   bool   // there are such instructions in it
	words   []int  // the words of bare as numbers, sorted
}

// stand is what stands for an instruction in the text around it, and whether it is the same instruction, in the same place,
// in both versions.
type stand struct {
	text  string
	stays bool
}

// prose cuts drafts into paragraphs; one for both versions, so that the same words have the same numbers.
type prose struct{ words map[string]int }

// paras cuts a draft's text, its blocks left out. stands has an entry for each instruction.
func (x *prose) paras(f *grammar.File, stands []stand) []para {
	c := paraCutter{f: f, stands: stands, words: x.words, under: -1}
	block := 0
	for line, at := 1, 0; at < len(f.Src); line++ {
		stop, ok := f.Offset(line+1, 1)
		if !ok || stop <= at {
			stop = len(f.Src)
		}
		for block < len(f.Blocks) && f.Blocks[block].Span.End <= at {
			block++
		}
		if block < len(f.Blocks) && at >= f.Blocks[block].Span.Start {
			c.end()
		} else {
			c.line(at, stop)
		}
		at = stop
	}
	c.end()
	return c.out
}

type paraCutter struct {
	f          *grammar.File
	stands     []stand
	words      map[string]int
	out        []para
	open       bool
	p          para
	text, bare strings.Builder
	mark       int // the first instruction that ends further on
	under      int // the heading that the line stands under, or is
}

func (c *paraCutter) line(at, stop int) {
	within := c.mark < len(c.f.Marks) && c.f.Marks[c.mark].Span.Start < at
	heads := c.under+1 < len(c.f.Headings) && c.f.Headings[c.under+1].Span.Start < stop
	for c.under+1 < len(c.f.Headings) && c.f.Headings[c.under+1].Span.Start < stop {
		c.under++
	}
	s := strings.TrimSpace(strings.TrimPrefix(string(c.f.Src[at:stop]), "\ufeff"))
	if !within && (s == "" || heads || beginsPara(s)) {
		c.end()
	}
	if s == "" {
		return
	}
	if !c.open {
		c.open, c.p = true, para{span: grammar.Span{Start: at}, heading: c.under}
	}
	c.p.span.End = stop
	c.put(at, stop)
	if s[0] == '#' {
		c.end()
	}
}

// put takes in the bytes [at, stop).
func (c *paraCutter) put(at, stop int) {
	write := func(to int) {
		s := strings.TrimPrefix(c.f.Text(grammar.Span{Start: at, End: to}), "\ufeff")
		c.text.WriteString(s)
		c.bare.WriteString(s)
	}
	for ; c.mark < len(c.f.Marks) && c.f.Marks[c.mark].Span.Start < stop; c.mark++ {
		m := c.f.Marks[c.mark].Span
		if m.Start >= at {
			write(m.Start)
			x := c.stands[c.mark]
			c.text.WriteString(x.text)
			if c.p.loose = c.p.loose || !x.stays; x.stays {
				c.bare.WriteString(x.text)
			}
		}
		if at = min(m.End, stop); m.End > stop {
			return
		}
	}
	write(stop)
}

func (c *paraCutter) end() {
	if !c.open {
		return
	}
	c.open = false
	var kept []string
	for _, w := range strings.Fields(c.bare.String()) {
		if w = strings.Trim(w, ",.;:—–-"); w == "" || w == "and" || w == "then" {
			continue
		}
		kept = append(kept, w)
		n, ok := c.words[w]
		if !ok {
			n = len(c.words)
			c.words[w] = n
		}
		c.p.words = append(c.p.words, n)
	}
	c.p.text, c.p.bare = fold(c.text.String()), strings.Join(kept, " ")
	sort.Ints(c.p.words)
	if c.p.text != "" {
		c.out = append(c.out, c.p)
	}
	c.text.Reset()
	c.bare.Reset()
}

// beginsPara says whether a line begins something that is compared by itself: an item of a list, a row of a table, a heading.
func beginsPara(line string) bool {
	switch line[0] {
	case '|', '#':
		return true
	case '-', '*', '+':
		return len(line) > 1 && line[1] == ' '
	}
	n := 0
	for n < len(line) && line[n] >= '0' && line[n] <= '9' {
		n++
	}
	return n > 0 && n+1 < len(line) && (line[n] == '.' || line[n] == ')') && line[n+1] == ' '
}

// inCommon is how many of the words of two paragraphs are the same, in hundredths of the longer one's.
func inCommon(a, b []int) int32 {
	n, i, j := 0, 0, 0
	for i < len(a) && j < len(b) {
		switch {
		case a[i] < b[j]:
			i++
		case a[i] > b[j]:
			j++
		default:
			n, i, j = n+1, i+1, j+1
		}
	}
	if most := max(len(a), len(b)); most > 0 {
		return int32(100 * n / most)
	}
	return 0
}

// leastInCommon is the share of words, in hundredths, from which a paragraph counts as another one reworded.
const leastInCommon = 40

// pairProse pairs the paragraphs of two versions.
func (x *outline) pairProse(a, b []para) pairing {
	under := func(ps []para) []int {
		out := make([]int, len(ps))
		for i := range ps {
			out[i] = ps[i].heading + 1
		}
		return out
	}
	return x.pairUnder(under(a), under(b), func(i, j int) int32 {
		if alike(&a[i], &b[j]) {
			return 1000
		}
		if c := inCommon(a[i].words, b[j].words); c >= leastInCommon {
			return c
		}
		return 0
	}, func(i, j int) bool { return alike(&a[i], &b[j]) })
}

// alike says whether two paragraphs say the same. Where instructions in them are told of elsewhere, what joined them to the
// sentence does not count.
func alike(a, b *para) bool {
	return a.text == b.text || (a.loose || b.loose) && a.bare == b.bare
}
