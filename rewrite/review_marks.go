package rewrite

import (
	"math/big"
	"sort"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// marks compares the instructions: paired ones number by number, the others whole.
func (x *comparer) marks(p pairing) {
	for side, c := range []*Conversion{x.old, x.new} {
		x.byMark[side] = make([][]int, len(c.Draft.File.Marks))
		for i := range c.Numbers {
			m := c.Numbers[i].Mark
			x.byMark[side][m] = append(x.byMark[side][m], i)
		}
	}
	x.pieces()
	// In the order of the new draft; what is gone stands after what it stood behind.
	type placed struct {
		mark  MarkPair
		piece int
		at    int // the new mark it is, or stands after
	}
	var all []placed
	after := make([]int, len(x.old.Draft.File.Marks)) // old mark → new one at or before it
	for i := range after {
		after[i] = -1
	}
	for _, c := range p.pairs {
		if !p.moved[c] {
			after[c.old] = c.new
		}
	}
	for i := 1; i < len(after); i++ {
		if old := x.old.Draft.File.Marks; after[i] < 0 && old[i].Heading == old[i-1].Heading {
			after[i] = after[i-1]
		}
	}
	for _, c := range p.pairs {
		all = append(all, placed{x.pair(c, p.moved[c]), x.pieceOfNew(c.new), c.new})
	}
	for _, j := range p.come {
		m := x.one(Added, j)
		all = append(all, placed{m, x.pieceOfNew(j), j})
	}
	for _, i := range p.gone {
		all = append(all, placed{x.one(Dropped, i), x.pieceOfOld(i), after[i]})
	}
	sort.SliceStable(all, func(a, b int) bool { return all[a].at < all[b].at })
	for _, m := range all {
		piece := &x.out.Pieces[m.piece]
		piece.Marks = append(piece.Marks, m.mark)
	}
}

// pieces makes an entry for each heading, of both versions; what is gone stands after what it stood behind.
func (x *comparer) pieces() {
	old, new := x.old.Draft.File, x.new.Draft.File
	x.piece = map[int]int{}
	was := map[int]int{}
	for i, j := range x.outline.became {
		was[j] = i
	}
	add := func(key int, pc PieceChange) {
		x.piece[key] = len(x.out.Pieces)
		x.out.Pieces = append(x.out.Pieces, pc)
	}
	gone := func(after int) {
		for i := after; i <= len(old.Headings); i++ {
			if _, ok := x.outline.became[i]; ok {
				return
			}
			add(goneKey(i), PieceChange{Name: nameOf(old, i)})
		}
	}
	for j := range len(new.Headings) + 1 {
		pc := PieceChange{Name: nameOf(new, j)}
		i, ok := was[j]
		if ok {
			pc.Moved = x.outline.moved[couple{i, j}]
			if n := nameOf(old, i); n != pc.Name {
				pc.Was = n
			}
		}
		add(j, pc)
		if ok {
			gone(i + 1)
		}
	}
}

// goneKey is the key of an old heading that nothing became.
func goneKey(heading int) int { return -1 - heading }

// nameOf is a heading's name; 0 is what stands before the first.
func nameOf(f *grammar.File, heading int) string {
	if heading < 1 {
		return ""
	}
	return headingPath(f, heading-1)
}

func (x *comparer) pieceOfNew(mark int) int { return x.piece[x.new.Draft.File.Marks[mark].Heading+1] }

func (x *comparer) pieceOfOld(mark int) int {
	return x.underOld(x.old.Draft.File.Marks[mark].Heading + 1)
}

func (x *comparer) underOld(heading int) int {
	if j, ok := x.outline.became[heading]; ok {
		return x.piece[j]
	}
	return x.piece[goneKey(heading)]
}

// pair compares one instruction in both versions.
func (x *comparer) pair(c couple, moved bool) MarkPair {
	old, new := x.old.Draft, x.new.Draft
	a, b := old.File.Marks[c.old], new.File.Marks[c.new]
	m := MarkPair{Old: c.old, New: c.new, Moved: moved, Name: nameOfMark(new, c.new), WasName: nameOfMark(old, c.old), Label: wordsOf(new, c.new), Was: fold(old.File.Text(a.PhraseSpan))}
	if moved && x.outline.became[a.Heading+1] != b.Heading+1 {
		m.From = nameOf(old.File, a.Heading+1)
	}
	if x.converted() {
		t := &x.new.Marks[c.new]
		if len(t.Pieces) == 0 && t.Changed {
			m.Is, m.New, m.Numbers = Dropped, -1, x.numbers(c.old, -1)
			return m
		}
		m.Now = x.nowText(c.new)
		m.Reworded = t.Rewritten || t.Changed && len(x.byMark[1][c.new]) == 0
	} else {
		m.Now = fold(new.File.Text(b.PhraseSpan))
		m.Reworded = wordsOf(old, c.old) != m.Label
		if !x.sameTies(a, b) {
			m.WasTied, m.Tied = tiesOf(old, a), tiesOf(new, b)
		}
	}
	m.Numbers = x.numbers(c.old, c.new)
	for _, n := range m.Numbers {
		if n.Is == Changed || n.Is == Added || n.Is == Dropped {
			m.Is = Changed
		} else if n.Is == Extended && m.Is == Same {
			m.Is = Extended
		}
	}
	// A sentence that lists the sizes, and one that only leaves out what is for others, says nothing new.
	if _, lists := b.Phrase.(*grammar.SizesSaid); lists || x.converted() && m.Is == Same && len(x.new.Targets) < len(x.old.Targets) {
		m.Reworded = false
	}
	if m.Reworded || m.WasTied != m.Tied || m.Renamed() {
		m.Is = Changed
	}
	return m
}

// sameTies says whether the same stands behind the bar of two instructions, names left out.
func (x *comparer) sameTies(a, b *grammar.Mark) bool {
	bare := func(ties []grammar.Tie) (out []grammar.Tie) {
		for _, t := range ties {
			if _, ok := t.(*grammar.TieAs); !ok {
				out = append(out, t)
			}
		}
		return out
	}
	p, q := bare(a.Ties), bare(b.Ties)
	if len(p) != len(q) {
		return false
	}
	for i := range p {
		e, ok := p[i].(*grammar.TieExpr)
		f, also := q[i].(*grammar.TieExpr)
		switch {
		case ok && also:
			if !x.sameExpr(e.Expr, f.Expr) {
				return false
			}
		case fold(x.old.Draft.File.Text(p[i].TieSpan())) != fold(x.new.Draft.File.Text(q[i].TieSpan())):
			return false
		}
	}
	return true
}

// nowText is a converted instruction as the new draft has it.
func (x *comparer) nowText(mark int) string {
	c := x.new
	at := c.Draft.File.Marks[mark].PhraseSpan
	first := sort.Search(len(c.Edits), func(i int) bool { return c.Edits[i].Start >= at.Start })
	text, pos := "", at.Start
	for _, e := range c.Edits[first:] {
		if e.End > at.End {
			break
		}
		text += c.Draft.File.Text(grammar.Span{Start: pos, End: e.Start}) + e.New
		pos = e.End
	}
	return fold(text + c.Draft.File.Text(grammar.Span{Start: pos, End: at.End}))
}

// one is an instruction that one version alone has.
func (x *comparer) one(is State, mark int) MarkPair {
	if is == Added {
		d := x.new.Draft
		return MarkPair{Is: is, Old: -1, New: mark, Name: nameOfMark(d, mark), Label: wordsOf(d, mark), Now: fold(d.File.Text(d.File.Marks[mark].PhraseSpan)), Numbers: x.numbers(-1, mark)}
	}
	d := x.old.Draft
	return MarkPair{Is: is, Old: mark, New: -1, Name: nameOfMark(d, mark), Label: wordsOf(d, mark), Was: fold(d.File.Text(d.File.Marks[mark].PhraseSpan)), Numbers: x.numbers(mark, -1)}
}

func nameOfMark(d *dsl.Draft, mark int) string {
	if names := d.File.Marks[mark].Labels(); len(names) > 0 {
		return names[0].Text
	}
	return ""
}

// numbers compares the numbers of an instruction, those that mean the same in order. -1 is no instruction.
func (x *comparer) numbers(old, new int) []NumberPair {
	var a, b []int
	if old >= 0 {
		a = x.byMark[0][old]
	}
	if new >= 0 {
		b = x.byMark[1][new]
	}
	p := pairUp(len(a), len(b), func(i, j int) int32 {
		n, m := &x.old.Numbers[a[i]], &x.new.Numbers[b[j]]
		switch {
		case n.Phrase != m.Phrase || n.Kind != m.Kind:
			return 0
		case differ(x.column(n.To, false), x.column(m.To, true)) == Same:
			return 3
		}
		return 2
	}, func(i, j int) bool { return x.converted() })
	var out []NumberPair
	at := 0
	gone := func(upto int) {
		for ; len(p.gone) > 0 && p.gone[0] < upto; p.gone = p.gone[1:] {
			out = append(out, x.number(a[p.gone[0]], -1))
		}
	}
	for _, c := range p.pairs {
		for ; at < c.new; at++ {
			out = append(out, x.number(-1, b[at]))
		}
		gone(c.old)
		out = append(out, x.number(a[c.old], b[c.new]))
		at = c.new + 1
	}
	for ; at < len(b); at++ {
		out = append(out, x.number(-1, b[at]))
	}
	gone(len(a))
	return out
}

// number compares one number.
func (x *comparer) number(old, new int) NumberPair {
	var p NumberPair
	if old >= 0 {
		n := &x.old.Numbers[old]
		p = x.named(x.old.Draft, n)
		p.Is, p.Old, p.OldMeasures = Dropped, x.column(n.To, false), x.column(n.Measures, false)
	}
	if new < 0 {
		return p
	}
	n := &x.new.Numbers[new]
	was := p
	p = x.named(x.new.Draft, n)
	p.Old, p.OldMeasures = was.Old, was.OldMeasures
	p.New, p.Measures = x.column(n.To, true), x.column(n.Measures, true)
	switch {
	case old < 0:
		p.Is = Added
	case x.converted():
		if n.Changed {
			p.Is = Changed
		}
	default:
		if p.Is = differ(p.Old, p.New); p.Unit != was.Unit && p.Is == Same {
			p.Is = Changed
		}
	}
	p.Wanted = x.wanted(n, &p)
	p.Why = x.why(n, &p)
	return p
}

func (x *comparer) named(d *dsl.Draft, n *Number) NumberPair {
	return NumberPair{Name: n.Name, Phrase: n.Phrase, Kind: n.Kind, Unit: n.Unit, Tied: n.Tied, Assumed: n.Assumed, Style: d.Quantities[n.Quantity].Value.Style}
}

// wanted is what a number should measure: what it is tied to; of a conversion what was drafted, too. In a new version of a
// draft by hand an untied number should be as large as it was only if it is its gauge that changed.
func (x *comparer) wanted(n *Number, p *NumberPair) []*big.Rat {
	q := x.new.Draft.Quantities[n.Quantity]
	switch {
	case q.Tie != nil && q.Tie.Kind != dsl.Length:
		return nil // a count that follows a count has no size to come to but its own
	case x.converted() || n.Tied:
		return x.column(n.Wanted, true)
	}
	if p.Measures != nil && x.gaugeOf[x.fabricOf(n)] {
		return p.OldMeasures
	}
	return nil
}

// fabricOf is the key of the fabric a number is measured in.
func (x *comparer) fabricOf(n *Number) string {
	d := x.new.Draft
	for _, s := range x.new.solved {
		if k, ok := s.index.score.of(n.Quantity); ok {
			return grammar.Key(d.Fabrics[s.run.Scores[k].Fabric].Name)
		}
	}
	return grammar.Key(d.Fabrics[d.FabricOf(n.Mark)].Name)
}

// prose compares the text around the instructions.
func (x *comparer) prose(p pairing) {
	old, new := x.old.Draft, x.new.Draft
	a, b := make([]stand, len(old.File.Marks)), make([]stand, len(new.File.Marks))
	words := func(d *dsl.Draft, i int) stand { return stand{text: "{" + wordsOf(d, i) + "}"} }
	for i := range a {
		a[i] = words(old, i)
	}
	for j := range b {
		b[j] = words(new, j)
	}
	for _, c := range p.pairs {
		b[c.new].stays = !p.moved[c]
		a[c.old] = b[c.new]
	}
	cut := prose{map[string]int{}}
	pa, pb := cut.paras(old.File, a), cut.paras(new.File, b)
	q := x.outline.pairProse(pa, pb)
	add := func(piece int, c ProseChange) {
		x.out.Pieces[piece].Prose = append(x.out.Pieces[piece].Prose, c)
	}
	for _, c := range q.pairs {
		was, is := &pa[c.old], &pb[c.new]
		change := ProseChange{Is: Changed, Moved: q.moved[c], Old: was.span, New: is.span, Was: was.text, Now: is.text}
		if alike(was, is) {
			if change.Is = Same; !change.Moved {
				continue
			}
		}
		add(x.piece[is.heading+1], change)
	}
	for _, j := range q.come {
		if pb[j].bare != "" {
			add(x.piece[pb[j].heading+1], ProseChange{Is: Added, New: pb[j].span, Now: pb[j].text})
		}
	}
	for _, i := range q.gone {
		if pa[i].bare != "" {
			add(x.underOld(pa[i].heading+1), ProseChange{Is: Dropped, Old: pa[i].span, Was: pa[i].text})
		}
	}
}
