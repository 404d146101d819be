package dsl

import (
	"maps"
	"slices"
	"strings"

	"gaugewright/grammar"
)

// place is a stretch of the work that is knitted at a gauge of its own: its cloth is the draft's, its fabrics are not.
type place struct {
	name string
	in   func(mark int) bool
	of   map[int]int // a fabric of the draft → the same in this place
}

// Apart is the draft with part of its work in fabrics of their own, drafted at the same gauge as those they stand for, so that
// another can be given to them. in says of each marked instruction whether it belongs there; what a twin works again stands
// where the twin does. The fabrics come after those of the draft, only those that are used, and Fabric.Of says which they stand
// for. Quantities keep their numbers; d itself is not changed.
func (d *Draft) Apart(name string, in func(mark int) bool) *Draft {
	out := &Draft{File: d.File, Block: d.Block, Fabrics: slices.Clone(d.Fabrics[:d.fabricsSaid()]), Sizes: d.Sizes, Measures: d.Measures, SizedBy: d.SizedBy,
		Quantities: make([]*Quantity, len(d.Quantities)), byValue: d.byValue, hidden: maps.Clone(d.hidden), names: d.names, ofMark: d.ofMark, faults: map[string]*fault{}}
	for i, q := range d.Quantities {
		x := *q
		x.Drafted = slices.Clone(q.Drafted)
		out.Quantities[i] = &x
	}
	for _, p := range d.places {
		out.places = append(out.places, place{p.name, p.in, map[int]int{}})
	}
	out.places = append(out.places, place{name, in, map[int]int{}})
	out.work()
	out.worked = true
	// What the measures come to is known once a draft is read, so that it can be converted several times at once.
	for i := range out.Measures {
		for s := range out.Sizes {
			_, _ = out.MeasureAt(i, out.DraftedSize(s), out.DraftedGauges())
		}
	}
	return out
}

// fabricsSaid is how many fabrics the draft block names.
func (d *Draft) fabricsSaid() int {
	n := 0
	for i, f := range d.Fabrics {
		if f.Of == i {
			n++
		}
	}
	return n
}

// placed is the fabric that stands for a fabric of the draft in a marked instruction.
func (d *Draft) placed(fabric, mark int) int {
	for _, p := range d.places {
		if !p.in(mark) {
			continue
		}
		f, ok := p.of[fabric]
		if !ok && d.worked {
			return fabric // nothing is worked in it there
		}
		if !ok {
			f = len(d.Fabrics)
			x := d.Fabrics[fabric]
			x.Name, x.Of = x.Name+", "+p.name, fabric
			d.Fabrics = append(d.Fabrics, x)
			d.gauges = append(slices.Clone(d.DraftedGauges()), x.Gauge)
			d.measured = nil
			p.of[fabric] = f
		}
		return f
	}
	return fabric
}

// parted says whether two marked instructions lie in places of different gauges.
func (d *Draft) parted(a, b int) bool {
	for _, p := range d.places {
		if p.in(a) != p.in(b) {
			return true
		}
	}
	return false
}

// cloth says whether a fabric is the one that is worked in at a marked instruction, and no other gauge of the same.
func (d *Draft) cloth(fabric, mark int) bool {
	of := d.Fabrics[fabric].Of
	for _, p := range d.places {
		if p.in(mark) {
			f, used := p.of[of]
			return used && f == fabric
		}
	}
	return fabric == of
}

// cloths is the same of all fabrics of a height.
func (w *walker) cloths(h Height) bool {
	for _, x := range h {
		if !w.d.cloth(x.Fabric, w.where()) {
			return false
		}
	}
	return true
}

// elsewhere says whether a number belongs to a piece other than the one in hand, of which some is knitted at a gauge of its own:
// then as many stitches would be another width.
func (w *walker) elsewhere(q *Quantity) bool {
	l, ok := w.labels[grammar.Key(q.Name)]
	return ok && (w.d.parted(q.Mark, w.where()) || !w.cloths(l.height)) && (w.now == nil || !slices.Contains(w.now.line, l.line))
}

// Again finds the marked instructions of a piece that is knitted twice from the same sentences: the one that a twin works
// (`right front` of `work right front as left front`), or the second of what is made twice (`second`, or by its heading
// `second sleeve`). They are those from the first to the last of them, [from, to).
func (d *Draft) Again(name string) (from, to int, ok bool) {
	key := grammar.Key(name)
	which, second := strings.CutPrefix(key, "second")
	second = second && (which == "" || which[0] == ' ')
	which = strings.TrimSpace(which)
	from, to = len(d.File.Marks), 0
	for i := range d.Runs[0].Works {
		x := &d.Runs[0].Works[i]
		if x.Twin >= 0 {
			t, is := d.File.Marks[x.Twin].Phrase.(*grammar.Twin)
			if !is || t.Name.Key != key {
				continue
			}
		} else if h := d.File.Marks[x.Mark].Heading; !second || x.Times < 2 || which != "" && (h < 0 || !headed(grammar.Key(d.File.Headings[h].Text), which)) {
			continue
		}
		from, to = min(from, x.Mark), max(to, x.Mark+1)
		for k := range x.Moves {
			from, to = min(from, x.Moves[k].Mark), max(to, x.Moves[k].Mark+1)
		}
	}
	// What ends it is no move of it, nor is a count stated before that.
	for to > 0 && (d.ends(to) || d.states(to) && d.ends(to+1)) {
		to++
	}
	return from, to, from < to
}

// headed says whether a heading begins with what a piece is called, in the singular, or ends with it.
func headed(heading, which string) bool {
	return strings.HasPrefix(heading, which) || strings.HasSuffix(heading, " "+which) || strings.HasSuffix(heading, " "+which+"s")
}

// WrittenOut finds a piece with sentences of its own that is the second of a pair, by its heading (`right glove`), or as the second that
// has the word in its heading (`second glove`, under `## Left glove` and `## Right glove`). in says of each marked instruction
// whether it belongs to it, what stands under smaller headings with it.
func (d *Draft) WrittenOut(name string) (in func(mark int) bool, ok bool) {
	key := grammar.Key(name)
	which, second := strings.CutPrefix(key, "second ")
	headings := d.File.Headings
	var found []int
	for h := range headings {
		k := grammar.Key(headings[h].Text)
		if headings[h].Level > 1 && (k == key || second && (k == which || strings.HasSuffix(k, " "+which))) {
			found = append(found, h)
		}
	}
	if second && len(found) != 2 || !second && len(found) != 1 {
		return nil, false
	}
	from := found[len(found)-1]
	to := from + 1
	for to < len(headings) && headings[to].Level > headings[from].Level {
		to++
	}
	in = func(mark int) bool { h := d.File.Marks[mark].Heading; return h >= from && h < to }
	for mark := range d.File.Marks {
		_, twin := d.File.Marks[mark].Phrase.(*grammar.Twin)
		ok = ok || in(mark) && !twin
	}
	return in, ok
}

// ends says whether an instruction takes the last stitches off what the one before it leaves.
func (d *Draft) ends(mark int) bool {
	if mark >= len(d.File.Marks) {
		return false
	}
	switch p := d.File.Marks[mark].Phrase.(type) {
	case *grammar.Close:
		return true
	case *grammar.BindOff:
		return p.Count == nil && p.Centre == nil && len(p.Steps) == 0
	}
	return false
}

// states says whether an instruction only states a count.
func (d *Draft) states(mark int) bool {
	if mark >= len(d.File.Marks) {
		return false
	}
	_, is := d.File.Marks[mark].Phrase.(*grammar.Statement)
	return is
}
