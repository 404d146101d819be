package dsl

import (
	"fmt"

	"gaugewright/grammar"
)

// declare makes a quantity of each number of each marked instruction and enters the names.
func (d *Draft) declare() {
	f := d.File
	if len(f.Marks) > maxMarks {
		d.errorf(f.Marks[maxMarks].Span, fmt.Sprintf("a draft may have %d: split the pattern", maxMarks), "this draft has %d marked instructions, more than are read in one", len(f.Marks))
		return
	}
	d.ofMark = make([][]int, len(f.Marks))
	for i, m := range f.Marks {
		for _, w := range m.Only {
			if _, ok := d.sizeIndex(w.Key); !ok {
				d.say(grammar.Error, w.Span, w.Text+" is no size of this draft", "one of "+andList(d.Sizes)+", or add "+w.Text+" to the sizes", d.sizesPlace()...)
			}
		}
		if m.Fabric != nil {
			if t, ok := d.names[m.Fabric.Key]; !ok && plainStitch[m.Fabric.Key] {
				// `in stocking stitch` says how to knit; without a fabric of that name it is the draft's own.
				m.Fabric, m.FromHere = nil, false
			} else if !ok || t.what != "fabric" {
				d.errorf(m.Fabric.Span, d.knownWayOut(m.Fabric.Key, "fabric"), "%s is no fabric of this draft", m.Fabric.Text)
			}
		}
		tied := d.numbersOf(i, m)
		for _, t := range m.Ties {
			if a, ok := t.(*grammar.TieAs); ok {
				n := -1
				if tied >= 0 {
					n = tied
					d.Quantities[tied].Name = a.Name.Text
				}
				d.name(a.Name, thing{what: "number", span: a.Name.Span, number: n, mark: i})
			}
		}
		d.heldNames(i, m)
	}
}

// plainStitch is what designers call the cloth that a gauge is taken over.
var plainStitch = map[string]bool{"stocking stitch": true, "stockinette": true, "stockinette stitch": true, "st st": true, "garter": true, "garter stitch": true,
	"g st": true, "pattern": true, "patt": true, "plain knitting": true, "the pattern": true}

// heldNames enters the names of work that is set aside.
func (d *Draft) heldNames(i int, m *grammar.Mark) {
	enter := func(w *grammar.Word, v *grammar.Value) {
		if w == nil {
			return
		}
		n := -1
		if v != nil {
			n = d.byValue[v]
			if d.Quantities[n].Name == "" {
				d.Quantities[n].Name = w.Text
			}
		}
		d.name(*w, thing{what: "held work", span: w.Span, number: n, mark: i})
	}
	switch p := m.Phrase.(type) {
	case *grammar.Hold:
		enter(p.Name, p.Count)
	case *grammar.Divide:
		for j := range p.Parts {
			enter(p.Parts[j].Name, p.Parts[j].Count)
		}
	case *grammar.Layout:
		for j := range p.Parts {
			// The same part may be named in several layouts; the first one names the number.
			if w := p.Parts[j].Name; w != nil {
				if _, taken := d.names[w.Key]; !taken {
					enter(w, p.Parts[j].Count)
				}
			}
		}
	}
}

// add makes the quantity of one number. least is the smallest it may become.
func (d *Draft) add(mark int, v *grammar.Value, kind Kind, role string, least int64) int {
	if v == nil {
		return -1
	}
	if id, known := d.byValue[v]; known {
		return id // one number may serve two clauses: `3 sts on the next and every following row`
	}
	m := d.File.Marks[mark]
	q := &Quantity{ID: len(d.Quantities), Mark: mark, Value: v, Kind: kind, Role: role, Least: least}
	d.Quantities = append(d.Quantities, q)
	d.byValue[v] = q.ID
	d.ofMark[mark] = append(d.ofMark[mark], q.ID)
	if n := len(v.Nums); n != 1 && n != len(d.Sizes) && !(len(m.Only) > 0 && n == len(m.Only)) {
		have := "for one size"
		if len(d.Sizes) > 1 {
			have = fmt.Sprintf("for %d sizes", len(d.Sizes))
		}
		d.diags = append(d.diags, grammar.Diagnostic{Severity: grammar.Error, Span: v.NumSpan, Summary: fmt.Sprintf("%d values %s", n, have),
			WayOut: "give one number for all sizes, or one for each: " + andList(d.Sizes), Related: d.sizesPlace()})
	}
	per := int64(1)
	if v.Unit == grammar.Ridges {
		per = 2
	}
	if kind != Length && kind != Yarn {
		q.Drafted = make([]int64, 0, len(d.Sizes))
	}
	for s := range d.Sizes {
		num := numAt(v, d.index(q, s))
		if kind == Length || kind == Yarn {
			if num.Val.Sign() < 0 || beyondTape(num.Val) {
				d.errorf(num.Span, "", "%s is no length or amount that can be knitted", num.Text)
				return q.ID
			}
			continue
		}
		if !num.Val.IsInt() {
			d.errorf(num.Span, "counts are whole numbers", "%s is not a whole number of %s", num.Text, kind)
			return q.ID
		}
		if !num.Val.Num().IsInt64() || num.Val.Num().Int64() > MaxCount || num.Val.Sign() < 0 {
			d.errorf(num.Span, fmt.Sprintf("counts go up to %d", MaxCount), "%s is no count that can be knitted", num.Text)
			return q.ID
		}
		q.Drafted = append(q.Drafted, per*num.Val.Num().Int64())
	}
	return q.ID
}

func (d *Draft) sizesPlace() []grammar.Related {
	if d.Block.Sizes == nil {
		return nil
	}
	return []grammar.Related{{Span: d.Block.Sizes.Span, Text: "the sizes are listed here"}}
}

// numbersOf makes the quantities of one instruction and says which one its ties stand on (-1: none).
func (d *Draft) numbersOf(i int, m *grammar.Mark) (tied int) {
	first := -1
	add := func(v *grammar.Value, kind Kind, role string, least int64) int {
		id := d.add(i, v, kind, role, least)
		if id >= 0 && first < 0 {
			first = id
		}
		return id
	}
	length := func(v *grammar.Value, role string) int {
		if v == nil {
			return -1
		}
		k := kindOfUnit(v.Unit)
		if k != Length && k != Rows {
			k = Length
		}
		return add(v, k, role, 1)
	}
	shared := func(v *grammar.Value, kind Kind, role string) int {
		was := first
		id := d.add(i, v, kind, role, 0)
		first = was
		if id >= 0 {
			d.Quantities[id].Shared = true
		}
		return id
	}
	clauses := func(cs []*grammar.Clause) {
		for _, c := range cs {
			shared(c.Every, Rows, "interval")
			if c.Sts != nil {
				shared(c.Sts, Stitches, "stitches a time")
			}
			shared(c.Times, Times, "times")
		}
	}
	switch p := m.Phrase.(type) {
	case *grammar.CastOn:
		add(p.Count, Stitches, "cast on", 1)
		add(p.Rest, Stitches, "cast on the last needle", 0)
		for _, v := range p.Shares {
			shared(v, Stitches, "cast on a needle")
		}
		shared(p.Rows, Rows, "rows")
	case *grammar.PickUp:
		add(p.Count, Stitches, "pick up", 1)
		shared(p.PerSts, Stitches, "stitches picked up")
		shared(p.PerRows, Rows, "rows")
	case *grammar.Work:
		if p.Repeats != nil {
			add(p.Repeats, Times, "repeats", 1)
			shared(p.Rows, Rows, "rows of a repeat")
		} else {
			add(p.Rows, Rows, "work", 1)
		}
		length(p.Length, "work to a length")
	case *grammar.Shape:
		shared(p.Sts, Stitches, "stitches a time")
		clauses(p.Clauses)
		if p.Until != nil {
			return add(p.Until, Stitches, "until", 0)
		}
		shared(p.AfterBy, kindOfUnit(unitOf(p.AfterBy)), "start")
		return -1 // its ties stand on its height: see scheduleTie
	case *grammar.Repeat:
		shared(p.LastRows, Rows, "rows repeated")
		clauses(p.Clauses)
		id := add(p.Times, Times, "times", 0)
		if p.Until != nil {
			return add(p.Until, Stitches, "until", 0)
		}
		return id
	case *grammar.Evenly:
		add(p.Count, Stitches, "evenly", 0)
		shared(p.InEvery, Stitches, "in every")
		id := add(p.To, Stitches, "evenly to", 1)
		if p.Count == nil {
			return id
		}
	case *grammar.BindOff:
		add(p.Count, Stitches, "bind off", 1)
		add(p.Centre, Stitches, "bind off the centre", 1)
		add(p.Leaving, Stitches, "leaving each side", 0)
		for _, s := range p.Steps {
			add(s.Sts, Stitches, "bind off in steps", 0)
			shared(s.Every, Rows, "interval")
			shared(s.Times, Times, "times")
			if s.Rows != nil && s.Rows.NumSpan.End > s.Rows.NumSpan.Start {
				shared(s.Rows, Rows, "rows")
			}
		}
	case *grammar.Turn:
		for _, s := range p.Steps {
			add(s.Sts, Stitches, "short rows", 0)
			shared(s.Times, Times, "times")
		}
	case *grammar.Hold:
		add(p.Count, Stitches, "hold", 0)
	case *grammar.Divide:
		for j := range p.Parts {
			add(p.Parts[j].Count, Stitches, "divide", 0)
		}
	case *grammar.Join:
		add(p.Count, Stitches, "join", 1)
	case *grammar.Panel:
		id := add(p.Count, Stitches, "panel", 1)
		if id >= 0 {
			d.Quantities[id].Fixed = true // a panel is a motif: its stitches do not change
		}
		shared(p.After, Stitches, "before the panel")
	case *grammar.Space:
		add(p.Over, kindOfUnit(unitOf(p.Over)), "spread over", 1)
		shared(p.Count, Times, "places")
		shared(p.Each, kindOfUnit(unitOf(p.Over)), "taken by each")
		shared(p.Before, kindOfUnit(unitOf(p.Over)), "before the first")
		shared(p.After, kindOfUnit(unitOf(p.Over)), "after the last")
	case *grammar.Layout:
		for j := range p.Parts {
			if p.Parts[j].Name != nil {
				add(p.Parts[j].Count, Stitches, "part", 0)
			} else {
				shared(p.Parts[j].Count, Stitches, "part")
			}
		}
	case *grammar.Statement:
		add(p.Value, kindOfUnit(p.Value.Unit), "stated", 0)
	case *grammar.Amount:
		shared(p.Value, Yarn, "yarn")
	case *grammar.Make:
		shared(p.Count, Times, "made")
	case *grammar.Close:
		add(p.Count, Stitches, "close", 0)
	case *grammar.Resume:
		add(p.Count, Stitches, "taken up", 0)
	case *grammar.Spelled:
		add(p.Times, Times, "times", 1)
	case *grammar.Figure:
		add(p.Value, Stitches, "figure", 0)
	}
	return first
}

func unitOf(v *grammar.Value) grammar.Unit {
	if v == nil {
		return grammar.NoUnit
	}
	return v.Unit
}

// resolveTies reads what stands after the bar of each instruction, now that all names are known.
func (d *Draft) resolveTies() {
	for i, m := range d.File.Marks {
		if len(m.Ties) == 0 {
			if f, ok := m.Phrase.(*grammar.Figure); ok {
				d.errorf(f.Value.Span, "say what it follows: `{10 | band / 8}`, or take the braces away", "a bare number with no tie and no unit means nothing")
			}
			continue
		}
		q := d.tiedOf(i)
		for _, t := range m.Ties {
			switch t := t.(type) {
			case *grammar.TieFixed:
				for _, id := range d.ofMark[i] {
					d.Quantities[id].Fixed = true
				}
			case *grammar.TieMultiple:
				if q == nil || q.Kind == Length || q.Kind == Yarn {
					d.errorf(t.Span, "put it on an instruction with a count", "a multiple needs a count of stitches or rows, and this instruction has none")
					continue
				}
				if t.Of < 1 || t.Of > 10_000 {
					d.errorf(t.Span, "", "no stitch pattern repeats over %d", t.Of)
					continue
				}
				q.Of = append(q.Of, *t)
			case *grammar.TieRounded:
				if q == nil {
					d.errorf(t.Span, "", "there is no number here to be rounded")
					continue
				}
				q.Rounded = -1
				if t.Up {
					q.Rounded = 1
				}
			case *grammar.TieExpr:
				d.tieExpr(i, q, t)
			}
		}
	}
}

// tiedOf is the quantity the ties of a mark stand on; for a schedule without `until` it is its height.
func (d *Draft) tiedOf(i int) *Quantity {
	m := d.File.Marks[i]
	switch p := m.Phrase.(type) {
	case *grammar.Shape:
		if p.Until == nil {
			return d.Quantities[d.hide(i, "rows", Rows, "rows of the schedule")]
		}
		return d.Quantities[d.byValue[p.Until]]
	case *grammar.Repeat:
		if p.Until != nil {
			return d.Quantities[d.byValue[p.Until]]
		}
		if p.Row != nil {
			return d.Quantities[d.hide(i, "rows", Rows, "rows of the schedule")]
		}
	case *grammar.Evenly:
		if p.Count == nil && p.To != nil {
			return d.Quantities[d.byValue[p.To]]
		}
	case *grammar.Work:
		if p.Rows == nil && p.Length == nil {
			return d.Quantities[d.hide(i, "rows", Rows, "rows")]
		}
	}
	for _, id := range d.ofMark[i] {
		if q := d.Quantities[id]; !q.Shared && !q.Hidden() {
			return q
		}
	}
	if len(d.ofMark[i]) > 0 {
		return d.Quantities[d.ofMark[i][0]]
	}
	return nil
}

func (d *Draft) tieExpr(i int, q *Quantity, t *grammar.TieExpr) {
	at := t.Expr.ExprSpan()
	if q == nil {
		d.errorf(at, "tie an instruction that has a number", "there is no number here that could follow it")
		return
	}
	if q.Tie != nil {
		d.say(grammar.Error, at, "two ties for one number", "keep the one that decides", grammar.Related{Span: q.TieAt, Text: "the other is here"})
		return
	}
	f, err := d.Eval(t.Expr, d.DraftedSize(0), d.DraftedGauges())
	if err != nil {
		d.report(err, at)
		return
	}
	if _, figure := d.File.Marks[i].Phrase.(*grammar.Figure); figure && f.Kind == Rows {
		q.Kind = Rows
	}
	ok := f.Kind == q.Kind || f.Kind == Length && (q.Kind == Stitches || q.Kind == Rows)
	if !ok {
		way := "tie it to a length, or to a count of the same kind"
		if f.Kind == Plain {
			way = "a plain number has no unit: write `24 sts` or `12 cm`"
		}
		d.errorf(at, way, "%s cannot follow %s", q.Kind, f.Kind)
		return
	}
	for s := range d.Sizes {
		if _, err := d.Eval(t.Expr, d.DraftedSize(s), d.DraftedGauges()); err != nil {
			d.report(err, at)
			return
		}
	}
	q.Tie, q.TieAt, q.Tied = f, at, true
}

// hide is a hidden quantity of a mark, made at its first use.
func (d *Draft) hide(mark int, tag string, kind Kind, role string) int {
	key := hiddenKey{mark, tag}
	if id, ok := d.hidden[key]; ok {
		return id
	}
	q := &Quantity{ID: len(d.Quantities), Mark: mark, Kind: kind, Role: role, Drafted: make([]int64, len(d.Sizes))}
	d.Quantities = append(d.Quantities, q)
	d.hidden[key] = q.ID
	return q.ID
}

// Labelled is the marked instruction of a label, `as NAME`, or the first under a heading of that name; −1 where there is neither.
func (d *Draft) Labelled(name string) int {
	key := grammar.Key(name)
	if i := d.File.Labelled(key); i >= 0 {
		return i
	}
	if under := d.File.Under(key); len(under) > 0 {
		return under[0]
	}
	return -1
}

// OfMark is the quantities that are numbers of a marked instruction, in the order of the text.
func (d *Draft) OfMark(mark int) []int { return d.ofMark[mark] }

// Hidden is the hidden quantity of a mark under a tag ("rows", "times"), if the work of the draft made one.
func (d *Draft) Hidden(mark int, tag string) (int, bool) {
	id, ok := d.hidden[hiddenKey{mark, tag}]
	return id, ok
}

// Of is the quantity of a number of the text.
func (d *Draft) Of(v *grammar.Value) (*Quantity, bool) {
	id, ok := d.byValue[v]
	if !ok || v == nil {
		return nil, false
	}
	return d.Quantities[id], true
}
