package rewrite

import (
	"bytes"
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// numbers lists every number of a marked instruction, before and after, with the size wished for and what it measures.
func (w *writer) numbers() {
	w.c.Numbers = make([]Number, 0, len(w.d.Quantities))
	for _, q := range w.d.Quantities {
		if q.Hidden() || q.Value.NumSpan.End <= q.Value.NumSpan.Start {
			continue
		}
		m := w.d.File.Marks[q.Mark]
		n := Number{Quantity: q.ID, Name: q.Name, Mark: q.Mark, Span: q.Value.NumSpan, Phrase: q.Role, Kind: q.Kind, Unit: q.Value.Unit, Tied: q.Tied, To: w.out[q.ID]}
		if q.Value.Scattered {
			n.Span = q.Value.Nums[0].Span
		}
		if m.Heading >= 0 {
			n.Piece = w.d.File.Headings[m.Heading].Text
		}
		lists := make([]*big.Rat, len(w.d.Sizes)+2*w.n())
		n.From, n.Wanted, n.Measures = lists[:len(w.d.Sizes):len(w.d.Sizes)], lists[len(w.d.Sizes):][:w.n():w.n()], lists[len(w.d.Sizes)+w.n():]
		for s := range w.d.Sizes {
			n.From[s] = numberAt(w.d, q, s)
		}
		for t := range w.c.Targets {
			n.Wanted[t], n.Measures[t], n.Assumed = w.measured(q, t, n.Assumed)
			n.Changed = n.Changed || w.changedAt(q, n.To[t], t)
		}
		w.swatched(&n, q)
		w.c.Numbers = append(w.c.Numbers, n)
	}
	place := func(a, b Number) int {
		return cmp.Or(cmp.Compare(a.Mark, b.Mark), cmp.Compare(a.Span.Start, b.Span.Start))
	}
	if !slices.IsSortedFunc(w.c.Numbers, place) {
		slices.SortStableFunc(w.c.Numbers, place)
	}
}

// swatched adds the rows of a length and how long they are on the needles.
func (w *writer) swatched(n *Number, q *dsl.Quantity) {
	if len(w.swatches) == 0 || q.Kind != dsl.Length {
		return
	}
	for t, s := range w.c.solved {
		i, ok := s.index.length.of(q.ID)
		if !ok {
			continue
		}
		rows, cm, flat := w.onNeedles(&s.run.Lengths[i], t)
		if n.Rows == nil && t > 0 || cm == nil && flat == nil {
			n.Rows, n.OnNeedles, n.Flat = nil, nil, nil
			return
		}
		put := func(to *[]*big.Rat, x *big.Rat) {
			if x == nil || *to == nil && t > 0 {
				*to = nil
				return
			}
			if *to == nil {
				*to = make([]*big.Rat, w.n())
			}
			(*to)[t] = x
		}
		put(&n.Rows, rows)
		put(&n.OnNeedles, cm)
		put(&n.Flat, flat)
		if st := s.index.stage[q.Mark]; st != nil {
			n.Rounds = !st.Flat
		}
	}
}

// changedAt says whether a number differs from what is drafted for the size a target is taken from.
func (w *writer) changedAt(q *dsl.Quantity, x *big.Rat, t int) bool {
	if x == nil {
		return false
	}
	v := q.Value
	return !same(v.Nums[min(w.index(q.Mark, v, t), len(v.Nums)-1)].Val, x)
}

// numberAt is a number as drafted for a size, in its own unit.
func numberAt(d *dsl.Draft, q *dsl.Quantity, size int) *big.Rat {
	v := q.Value
	if len(v.Nums) == 1 {
		return v.Nums[0].Val
	}
	if size < len(v.Nums) {
		return v.Nums[size].Val
	}
	return v.Nums[len(v.Nums)-1].Val
}

// measured is the size wished for and the size it comes to of a number that has one.
func (w *writer) measured(q *dsl.Quantity, t int, assumed bool) (wanted, is *big.Rat, also bool) {
	s := w.c.solved[t]
	if q.Kind == dsl.Length {
		wanted = w.lengths[t][q.ID].cm
		if i, ok := s.index.length.of(q.ID); ok {
			l := &s.run.Lengths[i]
			rows := dsl.FractionOf(w.value(l.Rows, t)).Over(dsl.FractionFrom(w.now[l.Fabric].Rows))
			return s.length[i], l.Before.Size(w.at(t), w.now).Plus(rows).Rat(), assumed || w.c.Gauges[l.Fabric].Assumed
		}
		if i, ok := s.index.height.of(q.ID); ok {
			return wanted, s.run.Heights[i].Height.Cm(w.at(t), w.now), assumed
		}
		return wanted, nil, assumed
	}
	best, ok := s.index.score.of(q.ID)
	if !ok {
		return nil, nil, assumed
	}
	sc := &s.run.Scores[best]
	return s.wanted[best].Rat(), sc.Cm(w.at(t), w.now), assumed || w.c.Gauges[sc.Fabric].Assumed
}

// finish sorts the edits, applies them once, and cuts each instruction into pieces for the reader.
func (w *writer) finish() {
	var edits []edit
	for mark := -1; mark < len(w.d.File.Marks); mark++ {
		edits = append(edits, w.edits[mark]...)
	}
	slices.SortStableFunc(edits, func(a, b edit) int { return cmp.Compare(a.Start, b.Start) })
	owner := make(map[int]int, len(edits)) // start of an edit → quantity
	keep := make([]Edit, 0, len(edits))
	for _, e := range edits {
		owner[e.Start] = e.quantity
		e := e.Edit
		if n := len(keep); n > 0 && keep[n-1] == e {
			continue
		}
		keep = append(keep, e)
	}
	out, err := Apply(w.d.File.Src, keep)
	if err != nil {
		w.fail(w.d.Block.Span, "this is a slip of the tool: please report it with the draft", "the new draft could not be put together: %s", err)
		return
	}
	w.c.Edits, w.c.New = keep, out
	w.c.Unchanged = bytes.Equal(out, w.d.File.Src)
	at := make(map[int]int, len(w.c.Numbers))
	for i := range w.c.Numbers {
		at[w.c.Numbers[i].Quantity] = i
	}
	w.c.Marks = make([]MarkText, 0, len(w.d.File.Marks))
	k := 0
	for i, m := range w.d.File.Marks {
		for k < len(keep) && keep[k].End <= m.Span.Start && keep[k].Start < m.Span.Start {
			k++
		}
		last := k
		for last < len(keep) && keep[last].Start <= m.Span.End {
			last++
		}
		w.c.Marks = append(w.c.Marks, w.text(i, m, keep[k:last], owner, at))
	}
}

// text is an instruction as the reader sees it.
func (w *writer) text(i int, m *grammar.Mark, edits []Edit, owner map[int]int, number map[int]int) MarkText {
	out := MarkText{Mark: i, Rewritten: w.rewritten[i], Pieces: make([]Piece, 0, 1+2*len(edits))}
	src := w.d.File.Src
	from, to := m.PhraseSpan.Start, m.PhraseSpan.End
	pos := from
	plain := func(end int) {
		if end > pos {
			out.Pieces = append(out.Pieces, Piece{Text: string(src[pos:end]), Number: -1})
			pos = end
		}
	}
	for _, e := range edits {
		if e.Start >= to && !(e.Start == to && e.End == to) {
			break
		}
		if e.Start == m.Span.Start && e.End == m.Span.End {
			out.Pieces, out.Changed = nil, true
			return out // the instruction is for sizes that are gone
		}
		if e.Start < from {
			continue
		}
		plain(e.Start)
		n := -1
		if q := owner[e.Start]; q >= 0 {
			if x, ok := number[q]; ok {
				n = x
			}
		}
		out.Pieces = append(out.Pieces, Piece{Text: e.New, Was: string(src[e.Start:e.End]), Changed: true, Number: n})
		out.Changed = true
		pos = e.End
	}
	plain(to)
	if place := w.placeNamed(m); place != "" {
		out.Pieces = append(out.Pieces, Piece{Text: " (" + place + ")", Number: -1})
	}
	figures := make([]int64, 2*w.n())
	out.Rows, out.After = figures[:w.n():w.n()], figures[w.n():]
	for t, s := range w.c.solved {
		if st := s.index.stage[i]; st != nil {
			out.Rows[t], out.After[t] = st.Rows.At(w.at(t)), st.Count.At(w.at(t))+w.soFar(st.Running, t)
			out.Rounds, out.Each = !st.Flat, st.Side > 1
		}
	}
	if m.SpelledOut {
		out.Spelled = w.spelled(i, m)
	}
	return out
}

// placeNamed says the name of an instruction that another one measures from, or repeats, in words, if it does not say it
// itself: without braces and ties a reader would look for it in vain.
func (w *writer) placeNamed(m *grammar.Mark) string {
	for _, t := range m.Ties {
		a, ok := t.(*grammar.TieAs)
		if !ok || strings.Contains(strings.ToLower(w.d.File.Text(m.PhraseSpan)), a.Name.Key) {
			continue
		}
		switch w.spokenOf(a.Name.Key) {
		case asPlace:
			return a.Name.Text + " starts here"
		case asRow:
			return "the " + a.Name.Text
		}
	}
	return ""
}

const (
	asPlace = 1 + iota // something is measured from it
	asRow              // it is repeated
)

// spokenOf says how the instructions speak of a name, 0 where none does.
func (w *writer) spokenOf(key string) int {
	if w.spoken == nil {
		w.spoken = map[string]int{}
		note := func(how int, names ...*grammar.Word) {
			for _, n := range names {
				if n != nil {
					for _, k := range []string{n.Key, strings.TrimPrefix(n.Key, "the ")} {
						if w.spoken[k] != asPlace {
							w.spoken[k] = how
						}
					}
				}
			}
		}
		for _, m := range w.d.File.Marks {
			switch p := m.Phrase.(type) {
			case *grammar.Work:
				note(asPlace, p.From, p.Match)
			case *grammar.Statement:
				note(asPlace, p.From)
			case *grammar.Shape:
				note(asPlace, p.After)
			case *grammar.PickUp:
				note(asPlace, p.Of)
			case *grammar.Twin:
				note(asPlace, p.To)
			case *grammar.Repeat:
				note(asRow, p.Row)
			}
		}
	}
	return w.spoken[key]
}

// Apply puts edits into text. It never changes src; edits must be in order, inside it and not overlapping.
func Apply(src []byte, edits []Edit) ([]byte, error) {
	var out bytes.Buffer
	out.Grow(len(src) + 16*len(edits))
	pos := 0
	for _, e := range edits {
		if e.Start < pos || e.End < e.Start || e.End > len(src) {
			return nil, fmt.Errorf("edits at %d–%d and before it overlap or lie outside", e.Start, e.End)
		}
		out.Write(src[pos:e.Start])
		out.WriteString(e.New)
		pos = e.End
	}
	out.Write(src[pos:])
	return out.Bytes(), nil
}
