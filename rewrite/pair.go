package rewrite

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Pairing finds which instruction of one version of a draft is which of another. Headings are paired first, by name, else by
// what stands under them. The instructions under both are laid beside each other in their order so that what pairs is alike
// as far as it can be (the longest-common-subsequence table, weighted): the same name decides, else the same kind of
// instruction, and the more so the more of its words and numbers are the same. What is left over is looked for anywhere: it
// was moved. Line numbers play no part. The table costs the product of the two lengths; past maxTable only
// what both lists begin and end with, and what can be found again word for word, is paired.
const maxTable = 1 << 24

// couple is the places of a pair in the old and in the new list.
type couple struct{ old, new int }

// abreast pairs what is alike without changing the order of either list: the pairs whose likeness adds up to most. What has a
// likeness of 0 is never paired.
func abreast(n, m int, like likeness) []couple {
	if n == 0 || m == 0 || n > maxTable/m {
		return nil
	}
	// best[j] is the most that the lists from i and j on can give; way tells how.
	way := make([]byte, n*m)
	best, below := make([]int32, m+1), make([]int32, m+1)
	for i := n - 1; i >= 0; i-- {
		best, below = below, best
		best[m] = 0
		for j := m - 1; j >= 0; j-- {
			most, how := below[j], byte('o')
			if best[j+1] > most {
				most, how = best[j+1], 'n'
			}
			if l := like(i, j); l > 0 && below[j+1]+l >= most {
				most, how = below[j+1]+l, 'b'
			}
			best[j], way[i*m+j] = most, how
		}
	}
	var out []couple
	for i, j := 0, 0; i < n && j < m; {
		switch way[i*m+j] {
		case 'b':
			out = append(out, couple{i, j})
			i, j = i+1, j+1
		case 'o':
			i++
		default:
			j++
		}
	}
	return out
}

// pairing is a list of pairs with what is left over on both sides, each in the order of its list.
type pairing struct {
	pairs      []couple // in the order of the new list
	moved      map[couple]bool
	gone, come []int
}

// likeness says how alike an old and a new thing are, 0 for what is never paired; sameness, what is one and the same thing
// wherever it stands.
type (
	likeness func(i, j int) int32
	sameness func(i, j int) bool
)

// matched is the pairs of two lists in their order: what both begin and end with, then what lies between.
func matched(n, m int, like likeness, same sameness) []couple {
	is := func(i, j int) bool { return like(i, j) > 0 && same(i, j) }
	head := 0
	for head < n && head < m && is(head, head) {
		head++
	}
	tail := 0
	for tail < n-head && tail < m-head && is(n-1-tail, m-1-tail) {
		tail++
	}
	var out []couple
	for i := range head {
		out = append(out, couple{i, i})
	}
	for _, c := range abreast(n-head-tail, m-head-tail, func(i, j int) int32 { return like(head+i, head+j) }) {
		out = append(out, couple{head + c.old, head + c.new})
	}
	for i := tail; i > 0; i-- {
		out = append(out, couple{n - i, m - i})
	}
	return out
}

// pairUp pairs two lists: in order first, then the rest wherever it is found again; of several the first is taken. What is not
// part of a longest run of pairs in order was moved.
func pairUp(n, m int, like likeness, same sameness) pairing {
	p := pairing{pairs: matched(n, m, like, same)}
	p.rest(n, m, same)
	p.findMoved()
	return p
}

// findMoved notes what is not part of a longest run of pairs in order.
func (p *pairing) findMoved() {
	p.moved = map[couple]bool{}
	for i, keeps := range longestRun(p.pairs) {
		if !keeps {
			p.moved[p.pairs[i]] = true
		}
	}
}

// alike pairs what is still left over with what it is most like, wherever that stands: what was both moved and changed.
func (p *pairing) alike(like likeness) {
	for {
		var best couple
		most := int32(0)
		for _, i := range p.gone {
			for _, j := range p.come {
				if l := like(i, j); l > most {
					best, most = couple{i, j}, l
				}
			}
		}
		if most == 0 {
			return
		}
		p.pairs = append(p.pairs, best)
		p.gone = slices.DeleteFunc(p.gone, func(i int) bool { return i == best.old })
		p.come = slices.DeleteFunc(p.come, func(j int) bool { return j == best.new })
		sort.Slice(p.pairs, func(a, b int) bool { return p.pairs[a].new < p.pairs[b].new })
	}
}

// rest pairs what is left over.
func (p *pairing) rest(n, m int, same sameness) {
	usedOld, usedNew := make([]bool, n), make([]bool, m)
	for _, c := range p.pairs {
		usedOld[c.old], usedNew[c.new] = true, true
	}
	for i := 0; i < n; i++ {
		if usedOld[i] {
			continue
		}
		for j := 0; j < m; j++ {
			if !usedNew[j] && same(i, j) {
				p.pairs = append(p.pairs, couple{i, j})
				usedOld[i], usedNew[j] = true, true
				break
			}
		}
		if !usedOld[i] {
			p.gone = append(p.gone, i)
		}
	}
	for j, used := range usedNew {
		if !used {
			p.come = append(p.come, j)
		}
	}
	sort.Slice(p.pairs, func(a, b int) bool { return p.pairs[a].new < p.pairs[b].new })
}

// outline is the headings of two versions, paired: by their names, else by what stands under them. Index 0 is what stands before
// the first heading.
type outline struct {
	pairing
	became map[int]int // old → new
	rank   []int       // of each old heading: where it would stand in the new version
	known  []bool      // whether a new heading was there before
}

// outlines pairs headings. under is the words of the instructions under each, as numbers, sorted.
func outlines(old, new []string, under func(now bool, heading int) []int) *outline {
	same := func(i, j int) bool { return (i == 0) == (j == 0) && old[i] == new[j] }
	x := &outline{became: map[int]int{}, rank: make([]int, len(old)), known: make([]bool, len(new))}
	like := func(i, j int) int32 {
		switch {
		case same(i, j):
			return 1000
		case i == 0 || j == 0 || slices.Contains(new, old[i]) || slices.Contains(old, new[j]):
			return 0
		}
		if c := inCommon(under(false, i), under(true, j)); c >= leastInCommon {
			return c
		}
		return 0
	}
	x.pairing = pairUp(len(old), len(new), like, same)
	x.alike(func(i, j int) int32 {
		if shareWord(old[i], new[j]) {
			return like(i, j)
		}
		return 0
	})
	x.findMoved()
	for _, c := range x.pairs {
		x.became[c.old], x.known[c.new] = c.new, true
	}
	for i, at := 0, 0; i < len(old); i++ {
		if j, ok := x.became[i]; ok {
			at = 2 * j
		} else {
			at |= 1
		}
		x.rank[i] = at
	}
	return x
}

// shareWord says whether two headings have a word in common: `Back` and `Back and front`.
func shareWord(a, b string) bool {
	words := strings.Fields(strings.ToLower(b))
	return slices.ContainsFunc(strings.Fields(strings.ToLower(a)), func(w string) bool { return len(w) > 2 && slices.Contains(words, w) })
}

// pairUnder pairs two lists whose members stand under headings: heading by heading, then the rest wherever it is found again.
// Moved is what stands under another heading than before, or in another order; that a whole piece stands elsewhere moves
// nothing in it, and neither does a heading put in.
func (x *outline) pairUnder(old, new []int, like likeness, same sameness) pairing {
	var p pairing
	oldOf, newOf := byHeading(old, len(x.rank)), byHeading(new, len(x.known))
	for _, h := range x.pairs {
		a, b := oldOf[h.old], newOf[h.new]
		for _, c := range matched(len(a), len(b), func(i, j int) int32 { return like(a[i], b[j]) }, func(i, j int) bool { return same(a[i], b[j]) }) {
			p.pairs = append(p.pairs, couple{a[c.old], b[c.new]})
		}
	}
	p.rest(len(old), len(new), same)
	order := make([]int, len(old))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return x.rank[old[order[a]]] < x.rank[old[order[b]]] })
	place := make([]int, len(old))
	for at, i := range order {
		place[i] = at
	}
	placed := make([]couple, len(p.pairs))
	for k, c := range p.pairs {
		placed[k] = couple{place[c.old], c.new}
	}
	p.moved = map[couple]bool{}
	for k, keeps := range longestRun(placed) {
		c := p.pairs[k]
		j, ok := x.became[old[c.old]]
		if elsewhere := ok && j != new[c.new] && x.known[new[c.new]]; !keeps || elsewhere {
			p.moved[c] = true
		}
	}
	return p
}

// byHeading is the members of a list under each of n headings.
func byHeading(of []int, n int) [][]int {
	out := make([][]int, n)
	for i, h := range of {
		out[h] = append(out[h], i)
	}
	return out
}

// longestRun marks a longest run of pairs, in the order of the new list, that is in the order of the old list too (patience
// sorting: n log n).
func longestRun(pairs []couple) []bool {
	ends, before := []int(nil), make([]int, len(pairs))
	for i, c := range pairs {
		k := sort.Search(len(ends), func(k int) bool { return pairs[ends[k]].old >= c.old })
		before[i] = -1
		if k > 0 {
			before[i] = ends[k-1]
		}
		if k == len(ends) {
			ends = append(ends, i)
		} else {
			ends[k] = i
		}
	}
	out := make([]bool, len(pairs))
	if len(ends) > 0 {
		for i := ends[len(ends)-1]; i >= 0; i = before[i] {
			out[i] = true
		}
	}
	return out
}

// face is what an instruction is known by.
type face struct {
	kind, name string
	words      string // without its numbers
	text       string // with them
	ties       string
}

func faces(d *dsl.Draft) []face {
	out := make([]face, len(d.File.Marks))
	for i, m := range d.File.Marks {
		f := &out[i]
		f.kind = fmt.Sprintf("%T", m.Phrase)
		f.words = strings.ToLower(wordsOf(d, i))
		f.text = fold(d.File.Text(m.PhraseSpan))
		f.ties = tiesOf(d, m)
		for _, name := range m.Labels() {
			f.name = name.Key
		}
		for _, q := range d.OfMark(i) {
			if n := d.Quantities[q].Name; f.name == "" && n != "" {
				f.name = grammar.Key(n)
			}
		}
	}
	return out
}

// tiesOf is what stands behind the bar, without names.
func tiesOf(d *dsl.Draft, m *grammar.Mark) string {
	var out []string
	for _, t := range m.Ties {
		if _, ok := t.(*grammar.TieAs); !ok {
			out = append(out, fold(d.File.Text(t.TieSpan())))
		}
	}
	return strings.Join(out, ", ")
}

// gap stands for a number in the words of an instruction.
const gap = "…"

// wordsOf is an instruction without its numbers, and without the endings that follow them: `cast on … sts`.
func wordsOf(d *dsl.Draft, mark int) string {
	m := d.File.Marks[mark]
	var holes []grammar.Span
	for _, id := range d.OfMark(mark) {
		v := d.Quantities[id].Value
		switch {
		case v == nil || !written(v):
		case v.Scattered:
			for _, n := range v.Nums {
				holes = append(holes, n.Span)
			}
		default:
			holes = append(holes, v.NumSpan)
			if v.Second != nil {
				holes = append(holes, v.Second.NumSpan)
			}
		}
	}
	slices.SortFunc(holes, func(a, b grammar.Span) int { return a.Start - b.Start })
	var b strings.Builder
	at := m.PhraseSpan.Start
	for _, h := range holes {
		if h.Start < at || h.End > m.PhraseSpan.End {
			continue
		}
		b.WriteString(d.File.Text(grammar.Span{Start: at, End: h.Start}))
		b.WriteString(gap)
		at = h.End
	}
	b.WriteString(d.File.Text(grammar.Span{Start: at, End: m.PhraseSpan.End}))
	words := strings.Fields(b.String())
	for i, w := range words {
		if i > 0 && strings.HasSuffix(words[i-1], gap) {
			bare := strings.TrimRight(w, ",.;")
			if many := unitFor(bare, false); many != "" {
				words[i] = many + w[len(bare):] // `1 st` grown to `2 sts` says nothing new
			}
		}
	}
	return strings.Join(words, " ")
}

// pairMarks pairs the headings and the instructions of two drafts.
func pairMarks(old, new *dsl.Draft) (*outline, pairing) {
	a, b := faces(old), faces(new)
	inOld, inNew := map[string]bool{}, map[string]bool{}
	ids := map[string]int{}
	under := func(d *dsl.Draft, fs []face, names map[string]bool) (headings []string, of []int, words [][]int) {
		headings = append(headings, "")
		for i := range d.File.Headings {
			headings = append(headings, headingPath(d.File, i))
		}
		words = make([][]int, len(headings))
		for i := range fs {
			names[fs[i].name] = true
			h := d.File.Marks[i].Heading + 1
			of = append(of, h)
			if _, ok := ids[fs[i].words]; !ok {
				ids[fs[i].words] = len(ids)
			}
			words[h] = append(words[h], ids[fs[i].words])
		}
		for _, w := range words {
			slices.Sort(w)
		}
		return headings, of, words
	}
	headsA, ofA, wordsA := under(old, a, inOld)
	headsB, ofB, wordsB := under(new, b, inNew)
	x := outlines(headsA, headsB, func(now bool, h int) []int {
		if now {
			return wordsB[h]
		}
		return wordsA[h]
	})
	taken := func(i, j int) bool { // the other one of that name is what it is
		return a[i].name != "" && inNew[a[i].name] || b[j].name != "" && inOld[b[j].name]
	}
	like := func(i, j int) int32 {
		x, y := &a[i], &b[j]
		switch {
		case x.name != "" && x.name == y.name:
			return 1000
		case taken(i, j) || x.kind != y.kind:
			return 0
		}
		l := int32(4)
		for _, s := range [...]struct {
			same  bool
			worth int32
		}{{x.words == y.words, 6}, {x.text == y.text, 4}, {x.ties == y.ties, 2}} {
			if s.same {
				l += s.worth
			}
		}
		return l
	}
	same := func(i, j int) bool {
		if taken(i, j) {
			return a[i].name == b[j].name
		}
		return a[i].text == b[j].text && a[i].ties == b[j].ties || a[i].kind == b[j].kind && a[i].words == b[j].words && x.became[ofA[i]] == ofB[j]
	}
	return x, x.pairUnder(ofA, ofB, like, same)
}

// headingPath is a heading as a piece is called: below the second rank with the heading it stands under, `Front, Neck`.
func headingPath(f *grammar.File, heading int) string {
	h := f.Headings[heading]
	name := h.Text
	for i := heading - 1; i >= 0 && h.Level > 2; i-- {
		if over := f.Headings[i]; over.Level < h.Level {
			if over.Level > 1 {
				name = over.Text + ", " + name
			}
			h = over
		}
	}
	return name
}
