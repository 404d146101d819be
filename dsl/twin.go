package dsl

import (
	"strings"

	"gaugewright/grammar"
)

// twinWork is `work right front as left front`: the instructions again, left and right exchanged.
func (w *walker) twinWork(p *grammar.Twin) {
	if w.deep > 3 {
		w.fault(grammar.Error, "twin", w.m().PhraseSpan, "this is worked as something that is worked as this", "", "write one of them out")
		return
	}
	if w.m().TakenUp {
		return // what it is worked as is not marked
	}
	from, to, ok := w.rangeOf(p)
	if !ok {
		w.fault(grammar.Error, "twin", p.As.Span, "no instructions are found for "+p.As.Text, "", "name a piece by its heading, or by the name it is resumed under")
		return
	}
	mark, swap, twin := w.mark, w.swap, w.twin
	w.swap = exchange(p.As.Key, p.Name.Key)
	w.twin, w.deep = mark, w.deep+1
	if w.deep == 1 {
		w.again = mark
		w.run.Again = append(w.run.Again, Again{mark, from, to})
	}
	if _, resumes := w.d.File.Marks[from].Phrase.(*grammar.Resume); !resumes && p.Name.Key != "" {
		if h := w.heldAs(p.Name.Key); h != nil {
			w.resume(p.Name)
		}
	}
	w.marks(from, to)
	w.swap, w.twin, w.deep, w.mark = swap, twin, w.deep-1, mark
	if w.deep == 0 {
		w.again = -1
	}
	if w.now != nil && p.To == nil && w.at(w.now.count) == 0 {
		w.now = nil
	}
}

// heldAs is the work set aside under exactly this name.
func (w *walker) heldAs(key string) *held {
	for _, h := range w.held {
		if grammar.Key(h.name) == key {
			return h
		}
	}
	return nil
}

// exchange swaps the two names, and left and right in any other.
func exchange(as, name string) func(string) string {
	return func(k string) string {
		k = grammar.Key(k)
		switch k {
		case as:
			return name
		case name:
			return as
		}
		return OtherSide(k)
	}
}

// OtherSide is words with left for right and right for left, one blank between them.
func OtherSide(words string) string {
	list := strings.Fields(words)
	for i, x := range list {
		switch x {
		case "left":
			list[i] = "right"
		case "right":
			list[i] = "left"
		}
	}
	return strings.Join(list, " ")
}

// rangeOf is the instructions of a piece: those from where it is resumed (or cast on under that name) until nothing is
// left in hand, or all under a heading of its name; up to a label where one is given.
func (w *walker) rangeOf(p *grammar.Twin) (from, to int, ok bool) {
	f := w.d.File
	from, to = -1, w.mark
	whole := false // the range is a whole section
	key := p.As.Key
	for i := 0; i < w.mark && from < 0; i++ {
		if r, is := f.Marks[i].Phrase.(*grammar.Resume); is && r.Name.Key == key {
			from = i
		}
	}
	if from < 0 {
		for h, x := range f.Headings {
			if grammar.Key(strings.TrimRight(x.Text, ".: ")) != key {
				continue
			}
			end := len(f.Headings)
			for k := h + 1; k < len(f.Headings); k++ {
				if f.Headings[k].Level <= x.Level {
					end = k
					break
				}
			}
			for i := 0; i < w.mark; i++ {
				if g := f.Marks[i].Heading; g >= h && g < end {
					if from < 0 {
						from = i
					}
					to, whole = i+1, true
				}
			}
			break
		}
	}
	if from < 0 {
		if i := f.Labelled(key); i < w.mark {
			from = i
		}
	}
	if from < 0 {
		// The first of two sides stays in hand when the other is held, and is never resumed: its instructions begin after that.
		if h := w.findHeld(p.Name.Key); h != nil && exchange(key, p.Name.Key)(p.Name.Key) == key {
			from = h.mark + 1
		}
	}
	if from < 0 || from >= w.mark {
		return 0, 0, false
	}
	to = min(to, w.mark)
	if !whole {
		if end := w.endOf(from, to); end > from {
			to = end
		}
	}
	if p.To != nil {
		for i := from; i < to; i++ {
			if f.Marks[i].Called(p.To.Key) {
				return from, i, true
			}
		}
		w.fault(grammar.Error, "label", p.To.Span, p.To.Text+" is no place in "+p.As.Text, "", "name a place inside it")
	}
	return from, to, to > from
}

// endOf is where the piece that begins at mark from ends: the stage after which nothing is in hand.
func (w *walker) endOf(from, to int) int {
	for _, s := range w.run.Stages {
		if s.Mark >= from && s.Mark < to && s.Piece == "" && s.Count.IsConst() && s.Count.Const == 0 && s.Side == 0 {
			return s.Mark + 1
		}
	}
	return to
}
