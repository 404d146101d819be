package mark

import (
	"bytes"
	"sort"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// maxPasses is how often a text is gone through until nothing more is found.
const maxPasses = 6

// Decided marks a text with some of its doubts settled: by the place of the doubt in the text, the reading that was chosen.
func Decided(name string, src []byte, settled map[int]int) (*Marking, grammar.Diagnostics) {
	m, diags := pass(name, src, settled)
	if m == nil || diags.Has(grammar.Error) {
		return m, diags
	}
	// Where braces stand around, more may be found. What comes out is marked until nothing is, so that marking twice is marking once.
	for range maxPasses {
		more, _ := pass(name, m.New, m.ahead(settled))
		if more == nil || len(more.Inserted) == 0 {
			return m, diags
		}
		m = m.with(more)
	}
	return m, diags
}

// ahead is what was settled, by places in the marked text.
func (m *Marking) ahead(settled map[int]int) map[int]int {
	out := map[int]int{}
	for at, n := range settled {
		to := at
		for _, x := range m.Inserted {
			if x.At <= at {
				to += len(x.Text)
			}
		}
		out[to] = n
	}
	return out
}

// back is the place in the original of a place in the marked text.
func (m *Marking) back(at int) int {
	grown := 0
	for _, x := range m.Inserted {
		if x.At+grown+len(x.Text) > at {
			return min(at-grown, x.At)
		}
		grown += len(x.Text)
	}
	return at - grown
}

// with is a marking with what another pass found in its outcome.
func (m *Marking) with(more *Marking) *Marking {
	out := *more
	out.Old, out.Block = m.Old, m.Block
	out.Found = append([]Found(nil), m.Found...)
	for _, f := range more.Found {
		f.Start, f.End = m.back(f.Start), m.back(f.End)
		out.Found = append(out.Found, f)
	}
	sort.SliceStable(out.Found, func(i, j int) bool { return out.Found[i].Start < out.Found[j].Start })
	out.Doubts = append([]Doubt(nil), m.Doubts...)
	for _, d := range more.Doubts {
		d.Start, d.End = m.back(d.Start), m.back(d.End)
		out.Doubts = append(out.Doubts, d)
	}
	sort.SliceStable(out.Doubts, func(i, j int) bool { return out.Doubts[i].Start < out.Doubts[j].Start })
	for i := range out.Left {
		out.Left[i].Start, out.Left[i].End = m.back(out.Left[i].Start), m.back(out.Left[i].End)
	}
	out.Inserted = merged(m.Inserted, more.Inserted)
	return &out
}

// merged is two sets of inserts, the second into the outcome of the first, as one set into the original.
func merged(a, b []Insert) []Insert {
	var out []Insert
	grown, k := 0, 0
	for _, x := range a {
		for k < len(b) && b[k].At <= x.At+grown {
			out = append(out, Insert{b[k].At - grown, b[k].Text})
			k++
		}
		text, from := x.Text, x.At+grown
		for k < len(b) && b[k].At < from+len(x.Text) {
			// within what the first pass put in
			cut := b[k].At - from + len(text) - len(x.Text)
			text = text[:cut] + b[k].Text + text[cut:]
			k++
		}
		out = append(out, Insert{x.At, text})
		grown += len(x.Text)
	}
	for ; k < len(b); k++ {
		out = append(out, Insert{b[k].At - grown, b[k].Text})
	}
	return out
}

// pass goes through a text once.
func pass(name string, src []byte, settled map[int]int) (*Marking, grammar.Diagnostics) {
	pl, diags := grammar.ReadPlain(name, src)
	if pl == nil {
		return nil, diags
	}
	e := &engine{name: name, src: src, pl: pl, settled: settled}
	if diags.Has(grammar.Error) {
		// What is there already cannot be read: more of it would help no one.
		return e.marking(), diags
	}
	e.find()
	e.settle()
	e.tie()
	return e.marking(), diags
}

// engine is one marking under way.
type engine struct {
	name    string
	src     []byte
	pl      *grammar.Plain
	settled map[int]int

	found    []candidate
	proposal *proposal // nil where the text has a block
	blockAt  int
	measures bool // the block has its measures
	sizes    int
	accepted map[string]bool // contradictions of the text itself
	doubts   []*doubt
	rib      need // the one rib of the text
}

// doubt is a candidate with two readings.
type doubt struct {
	of       int // index in found
	question string
	ties     [2]string
	means    [2]string
	chosen   int
	why      string
	firm     bool // settled from outside
	must     bool // one of its ties must be said
}

// find looks through the whole text.
func (e *engine) find() {
	for i := range e.pl.Prose {
		s := &e.pl.Prose[i]
		f := &finder{pl: e.pl, s: s, w: s.Words, done: make([]bool, len(s.Words))}
		e.found = append(e.found, f.find()...)
	}
	e.accepted = map[string]bool{}
	var block *grammar.Block
	for _, b := range e.pl.File.Blocks {
		if b.Kind == grammar.DraftBlock {
			block = b
		}
	}
	e.sizes = 1
	if block == nil {
		e.proposal = e.propose()
		e.measures = true
		e.blockAt = blockPlace(e.pl, e.src)
		e.sizes = max(1, len(e.proposal.sizes))
		e.sizeMarks()
		e.measureMarks()
	} else if block.Sizes != nil {
		e.sizes = len(block.Sizes.Names)
	}
	e.found = keep(e.found, e.fitsSizes)
	for i := range e.found {
		e.prepare(i)
		e.workedUntil(i)
	}
}

func keep(list []candidate, want func(*candidate) bool) []candidate {
	var out []candidate
	for i := range list {
		if want(&list[i]) {
			out = append(out, list[i])
		}
	}
	return out
}

// sizeMarks puts the list of sizes among what was found.
func (e *engine) sizeMarks() {
	at := e.proposal.sizesAt
	if at.End == 0 {
		return
	}
	for i := range e.pl.Prose {
		s := &e.pl.Prose[i]
		from, to := -1, -1
		for j := range s.Words {
			if s.Words[j].Span.Start == at.Start {
				from = j
			}
			if s.Words[j].Span.End == at.End {
				to = j + 1
			}
		}
		if from < 0 || to < from {
			continue
		}
		e.found = keep(e.found, func(c *candidate) bool { return c.stretch != s || c.to <= from || c.from >= to })
		e.found = append(e.found, candidate{stretch: s, from: from, to: to, mark: &grammar.Mark{Phrase: &grammar.SizesSaid{}}, kind: "sizes"})
		e.inOrder()
		return
	}
}

// measureMarks puts the measurements among what was found, tied to those of the block.
func (e *engine) measureMarks() {
	for _, m := range e.proposal.measures {
		f := &finder{pl: e.pl, s: m.stretch, w: m.stretch.Words}
		mark := e.pl.Read(m.stretch.Words[m.from:m.to])
		c := candidate{stretch: m.stretch, from: m.from, to: m.to, mark: mark, kind: "statement", ties: []Tie{{Text: m.name, Why: "the measurement of the block"}}}
		if mark == nil || !f.whole(&c) {
			continue
		}
		free := true
		for i := range e.found {
			o := &e.found[i]
			free = free && (o.stretch != c.stretch || o.to <= c.from || c.to <= o.from)
		}
		if free {
			e.found = append(e.found, c)
		}
	}
	e.inOrder()
}

func (e *engine) inOrder() {
	sort.SliceStable(e.found, func(i, j int) bool { return e.found[i].span().Start < e.found[j].span().Start })
}

// fitsSizes says whether the lists of a candidate have one number, or one for each size.
func (e *engine) fitsSizes(c *candidate) bool {
	ok := true
	grammar.Values(c.mark.Phrase, func(v *grammar.Value) {
		ok = ok && (len(v.Nums) == 1 || len(v.Nums) == e.sizes)
	})
	return ok
}

// prepare gives a candidate the ties it cannot do without, and notes where it can be read in two ways.
func (e *engine) prepare(i int) {
	c := &e.found[i]
	switch p := c.mark.Phrase.(type) {
	case *grammar.Hold:
		if p.Name == nil && !p.ForGood {
			c.ties = append(c.ties, Tie{Text: "as " + e.heldName(), Why: "so that it can be taken up again"})
		}
	case *grammar.CastOn:
		if p.Needles < 0 {
			e.doubts = append(e.doubts, &doubt{of: i, question: "on how many needles?", ties: [2]string{"on 3 needles", "on 4 needles"},
				means: [2]string{"three, with a fourth to knit with", "four, with a fifth to knit with"}, must: true})
		}
	case *grammar.Repeat:
		if p.LastRows != nil && p.Times != nil && !p.More && len(p.Times.Nums[0].Text) > 0 {
			e.doubts = append(e.doubts, &doubt{of: i, question: "does this count the rows as they were worked first?", ties: [2]string{"more", "in all"},
				means: [2]string{"so many times more", "so many times in all, the first among them"}})
		}
	}
	if p, ok := c.mark.Phrase.(*grammar.Shape); ok && len(p.Clauses) == 1 && p.Clauses[0].Kind == grammar.NextAnd && p.Clauses[0].Times != nil && !p.Clauses[0].More && p.Until == nil && len(p.Clauses[0].Times.Nums[0].Text) > 0 {
		e.doubts = append(e.doubts, &doubt{of: i, question: "do these times count the next row?", ties: [2]string{"more", "in all"},
			means: [2]string{"on the next row, and so many times more", "so many times in all, the next row among them"}})
	}
	for _, d := range e.doubts {
		if n, ok := e.settled[e.found[d.of].span().Start]; ok && d.of == i && n >= 0 && n < 2 {
			d.chosen, d.firm, d.why = n, true, "you chose it"
		}
	}
}

func (e *engine) heldName() string {
	n := 1
	for i := range e.found {
		for _, t := range e.found[i].ties {
			if strings.HasPrefix(t.Text, "as held stitches ") {
				n++
			}
		}
	}
	name := "held stitches " + plainInt(n)
	e.pl.Name(name)
	return name
}

func plainInt(n int) string {
	return string(plainNumber(bigInt(n)))
}

// blockPlace is where a block goes: behind the title, or at the very top.
func blockPlace(pl *grammar.Plain, src []byte) int {
	if len(pl.Prose) == 0 || !pl.Prose[0].Heading {
		return pl.Top
	}
	s := &pl.Prose[0]
	line := bytes.LastIndexByte(src[:s.Span.Start], '\n') + 1
	if !bytes.HasPrefix(bytes.TrimLeft(src[line:], " \ufeff"), []byte("#")) {
		return pl.Top
	}
	if n := bytes.IndexByte(src[s.Span.End:], '\n'); n >= 0 {
		return s.Span.End + n + 1
	}
	return len(src)
}

// marking is the outcome.
func (e *engine) marking() *Marking {
	m := &Marking{Old: e.src}
	new, ins, _ := e.write()
	m.New, m.Inserted = new, ins
	m.Block = e.block()
	for i := range e.found {
		c := &e.found[i]
		if c.off {
			continue
		}
		s := c.span()
		f := Found{Start: s.Start, End: s.End, Kind: c.kind, Text: oneLine(e.pl.File.Text(s)), Ties: e.tiesOf(i), Untied: c.notes}
		m.Found = append(m.Found, f)
	}
	for _, d := range e.doubts {
		c := &e.found[d.of]
		if c.off {
			continue
		}
		s := c.span()
		m.Doubts = append(m.Doubts, Doubt{Start: s.Start, End: s.End, Text: oneLine(e.pl.File.Text(s)), Question: d.question, Chosen: d.chosen, Why: d.why,
			Readings: []Reading{{d.ties[0], d.means[0]}, {d.ties[1], d.means[1]}}})
	}
	m.Left = e.left()
	m.File, m.Checked = check(e.name, m.New)
	return m
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// block is the block as it is put in, with the blank lines round it.
func (e *engine) block() string {
	if e.proposal == nil {
		return ""
	}
	text := e.proposal.text(e.measures)
	if at := e.blockAt; at > 0 {
		if e.src[at-1] != '\n' {
			text = "\n" + text
		}
		text = "\n" + text
	}
	if at := e.blockAt; at < len(e.src) && e.src[at] != '\n' && e.src[at] != '\r' {
		text += "\n"
	}
	return text
}

// tiesOf are the ties of a candidate with those of the doubts about it.
func (e *engine) tiesOf(i int) []Tie {
	ties := e.found[i].ties
	for _, d := range e.doubts {
		if d.of == i && d.ties[d.chosen] != "" && (d.must || d.why != "" || d.chosen != 0) {
			ties = append(ties[:len(ties):len(ties)], Tie{Text: d.ties[d.chosen], Why: d.why})
		}
	}
	return ties
}

// write puts everything in. marks tells for each candidate where its brace begins in the new text, -1 where it has none.
func (e *engine) write() (new []byte, ins []Insert, marks []int) {
	if e.proposal != nil {
		ins = append(ins, Insert{e.blockAt, e.block()})
	}
	for i := range e.found {
		c := &e.found[i]
		if c.off {
			continue
		}
		s := c.span()
		end := "}"
		if ties := e.tiesOf(i); len(ties) > 0 {
			var t []string
			for _, x := range ties {
				t = append(t, x.Text)
			}
			bar := " | "
			if c.stretch.Table {
				bar = ` \| `
			}
			end = bar + strings.Join(t, ", ") + "}"
		}
		ins = append(ins, Insert{s.Start, "{"}, Insert{s.End, end})
	}
	inOrder(ins)
	marks = make([]int, len(e.found))
	grown := 0
	place := map[int]int{}
	for _, x := range ins {
		if x.Text == "{" {
			place[x.At] = x.At + grown
		}
		grown += len(x.Text)
	}
	for i := range e.found {
		marks[i] = -1
		if c := &e.found[i]; !c.off {
			marks[i] = place[c.span().Start]
		}
	}
	return apply(e.src, ins), ins, marks
}

// check reads and works a marked text.
func check(name string, text []byte) (*grammar.File, grammar.Diagnostics) {
	f, diags := grammar.Parse(name, text)
	if diags.Has(grammar.Error) {
		return f, diags
	}
	_, more := dsl.Read(f)
	diags = append(diags, more...)
	diags.Sort()
	return f, diags
}
