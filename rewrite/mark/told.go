package mark

import (
	"strconv"
	"strings"

	"gaugewright/grammar"
)

// told is what rows do that are told in words, stitch by stitch, and have no braces.
type told struct{ rows, change int64 }

// tie says it after the bar of what follows.
func (t told) tie() string {
	var parts []string
	if t.rows > 0 {
		parts = append(parts, "after "+counted(t.rows, "row"))
	}
	switch {
	case t.change > 0:
		parts = append(parts, "with "+counted(t.change, "st")+" more")
	case t.change < 0:
		parts = append(parts, "with "+counted(-t.change, "st")+" fewer")
	}
	return strings.Join(parts, " ")
}

func counted(n int64, unit string) string {
	if n != 1 {
		unit += "s"
	}
	return strconv.FormatInt(n, 10) + " " + unit
}

// sayTold says before i what the rows do that are told in words there, where it then comes out.
func (e *engine) sayTold(i int) bool {
	c := &e.found[i]
	if c.toldTried {
		c.ties = dropTie(c.ties, c.toldTie) // it does not come out so
		c.toldTie = ""
		return false
	}
	c.toldTried = true
	t, ok := e.toldBefore(i)
	if !ok {
		return false
	}
	c.toldTie = t.tie()
	c.ties = append(c.ties, Tie{Text: c.toldTie, Why: "as the rows before it are told in words"})
	return true
}

func dropTie(list []Tie, text string) []Tie {
	if text == "" {
		return list
	}
	var out []Tie
	for _, t := range list {
		if t.Text != text {
			out = append(out, t)
		}
	}
	return out
}

// toldBefore works the rows told in words between the instruction before i and i itself; ok is false where there are none, or any of
// them is not understood.
func (e *engine) toldBefore(i int) (told, bool) {
	c := &e.found[i]
	from := e.before(i)
	if from < 0 {
		return told{}, false
	}
	r := &rowTeller{pl: e.pl}
	b := &e.found[from]
	begun := false
	for si := range e.pl.Prose {
		s := &e.pl.Prose[si]
		first, last := 0, len(s.Words)
		if s == b.stretch {
			begun, first = true, b.to
			r.within = first < last && s.Words[first].Key != "." && takesRow(b)
		}
		if !begun {
			continue
		}
		if s == c.stretch {
			last = c.from
		}
		if !s.Heading && !r.stretch(s, first, last) {
			return told{}, false
		}
		r.within = false
		if s == c.stretch {
			break
		}
	}
	if r.unknown > 0 {
		return told{}, false
	}
	t, ok := told{}, true
	if p, again := c.mark.Phrase.(*grammar.Repeat); again {
		t, ok = r.repeated(p)
	} else {
		for _, x := range r.list {
			t.rows += x.rows
			t.change += x.change
		}
	}
	return t, ok && (t.rows > 0 || t.change != 0)
}

// repeated is the rows that a repeat speaks of, the last ones told; rows before them can be left out where they change nothing.
func (r *rowTeller) repeated(p *grammar.Repeat) (told, bool) {
	wanted := int64(1)
	if p.LastRows != nil {
		wanted = p.LastRows.Nums[0].Val.Num().Int64()
	}
	t, k := told{}, len(r.list)-1
	for ; k >= 0 && t.rows < wanted; k-- {
		t.rows += r.list[k].rows
		t.change += r.list[k].change
	}
	for ; k >= 0; k-- {
		if r.list[k].change != 0 {
			return told{}, false
		}
	}
	return t, t.rows <= wanted // what is missing may be marked before them
}

// before is what was found and kept before i, -1 where there is nothing.
func (e *engine) before(i int) int {
	for k := i - 1; k >= 0; k-- {
		if !e.found[k].off {
			return k
		}
	}
	return -1
}

// takesRow says whether an instruction is worked in a row of its own, the rest of which may be told behind it.
func takesRow(c *candidate) bool {
	_, off := c.mark.Phrase.(*grammar.BindOff)
	return off
}

// rowTeller goes through prose and adds up the rows that it tells.
type rowTeller struct {
	pl      *grammar.Plain
	list    []told
	within  bool  // the words go on with a row that is counted already
	unknown int64 // so many rows, told last, change what only a remark can say: `8 sts increased`
}

// stretch goes through the words [from, to) of a paragraph.
func (r *rowTeller) stretch(s *grammar.Stretch, from, to int) bool {
	f := &finder{pl: r.pl, s: s, w: s.Words}
	for at := from; at < to; {
		end := at
		for end < to && !f.endsRow(end, at, to) {
			end++
		}
		if !r.sentence(f, at, end) {
			return false
		}
		r.within = false
		for at = end; at < to && (f.key(at) == "." || f.key(at) == ";"); at++ {
		}
		if at == end && at < to && !f.newLine(at) {
			at++
		}
	}
	return true
}

// endsRow says whether what is told from word at on ends before word i.
func (f *finder) endsRow(i, at, to int) bool {
	if f.w[i].Kind > grammar.SignToken {
		return true
	}
	if f.w[i].Key == "." {
		return f.stops(i) || i+1 == to
	}
	return i > at && f.newLine(i) && (f.rowLabel(i) > i || f.title(at, i))
}

// rowLabel is where the words that name a row end, `Row 1 (RS):`, `Next rnd:`, `Dec row (WS) —`; i where none begins there.
func (f *finder) rowLabel(i int) int {
	rows, depth := false, 0
	for j := i; j < len(f.w) && j < i+14; j++ {
		w := &f.w[j]
		switch {
		case w.Kind > grammar.SignToken:
			return i
		case w.Key == "(" || w.Key == "[":
			depth++
		case w.Key == ")" || w.Key == "]":
			depth--
		case depth > 0:
		case w.Key == ":" || w.Key == "—" || w.Key == "-" && (f.key(j+1) == "-" || w.Blank):
			if !rows {
				return i
			}
			for j++; f.key(j) == "-" || f.key(j) == "—"; j++ {
			}
			return j
		case w.Key == "." && rows:
			return j + 1
		case grammar.UnitOf(w.Key).IsRows():
			rows = true
		case w.Kind == grammar.WordToken && !labelWords[w.Key] && (rows || j > i+2):
			return i
		}
	}
	return i
}

var labelWords = set(`next inc dec increase decrease increases decreases setup set up set-up rs ws row rows rnd rnds round rounds and to all even odd foundation eyelet rib of the last first right side wrong joining dividing
	buttonhole raglan body yoke sleeve gusset heel toe crown thumb neck short plain as follows`)

// rowsNamed is how many rows the label [from, to) names: 1 for `Row 1`, 2 for `Rounds 2 and 3`, 4 for `Rows 3-6`; 0 where it does not say.
func (f *finder) rowsNamed(from, to int) int64 {
	var n []int64
	span := false
	for j := from; j < to; j++ {
		switch w := &f.w[j]; {
		case w.Key == "(" || w.Key == ":":
			to = j
		case w.Key == "all" || w.Key == "every" || w.Key == "even" || w.Key == "odd":
			return 0
		case w.Kind == grammar.NumberToken && w.Val != nil && w.Val.IsInt() && w.Val.Num().IsInt64():
			n = append(n, w.Val.Num().Int64())
		case (w.Key == "-" || w.Key == "to") && len(n) == 1:
			span = true
		}
	}
	switch {
	case len(n) == 2 && span && n[1] > n[0] && n[1]-n[0] < 100:
		return n[1] - n[0] + 1
	case len(n) > 1 && !span:
		return int64(len(n))
	case len(n) < 2 && !span:
		return 1
	}
	return 0
}

// sentence takes in the words [from, to).
func (r *rowTeller) sentence(f *finder, from, to int) bool {
	if f.title(from, to) {
		return true
	}
	body := f.rowLabel(from)
	labelled := body > from && body <= to
	if !labelled {
		body = from
	}
	to, by, said := f.remark(body, to)
	if body >= to || !labelled && !r.within {
		if said && r.unknown > 0 {
			r.list[len(r.list)-1].change = by * r.unknown
			r.unknown = 0
		}
		return !f.changes(body, to)
	}
	row, ok := r.pl.Row(f.w[body:to])
	n := int64(0)
	if labelled {
		if n = f.rowsNamed(from, body); !ok || n == 0 || r.unknown > 0 {
			return false
		}
	} else if !ok || row.Open {
		return !f.changes(body, to)
	}
	switch {
	case !row.Open:
		by = row.Makes - row.Takes
	case !said:
		r.unknown = n
	}
	r.list = append(r.list, told{n, by * max(1, n)})
	return true
}

// title says whether words are a line of their own that only says what follows: `Thumb gusset`, `Shape top`.
func (f *finder) title(from, to int) bool {
	if to-from > 4 || from > 0 && !f.newLine(from) || to < len(f.w) && !f.newLine(to) {
		return false
	}
	for j := from; j < to; j++ {
		if f.w[j].Kind != grammar.WordToken {
			return false
		}
	}
	return true
}

// changes says whether words speak of a change that is not worked here.
func (f *finder) changes(from, to int) bool {
	for j := from; j < to; j++ {
		if f.w[j].Kind == grammar.MarkToken || changing[f.w[j].Key] && !(f.key(j) == "place" && f.key(j+1) == "marker") {
			return true
		}
	}
	return false
}

var changed = map[string]int64{"increased": 1, "inc'd": 1, "inc": 1, "added": 1, "decreased": -1, "dec'd": -1, "dec": -1}

// remark is what is said of a row as a whole, `— 8 sts increased`, and where the words before it end.
func (f *finder) remark(from, to int) (end int, by int64, said bool) {
	for j := from; j+2 < to; j++ {
		sign, w := changed[f.key(j+2)], &f.w[j]
		if sign == 0 || w.Kind != grammar.NumberToken || w.Val == nil || !w.Val.IsInt() || !w.Val.Num().IsInt64() || grammar.UnitOf(f.key(j+1)) != grammar.Stitches {
			continue
		}
		by = sign * w.Val.Num().Int64()
		for j > from && strings.Contains("-—([:,;=", f.key(j-1)) {
			j--
		}
		return j, by, true
	}
	return to, 0, false
}
