package dsl

// A layout without names is shared out of its count afterwards, in the drafted proportion. That is not enough where the
// work itself says more: a part that is held afterwards is as large as what is held, and between two layouts of the same
// work the parts grow by what the shaping between them does. Where the drafted numbers of all sizes leave only one way in
// which that can be meant, the parts become unknowns of their own, so that they add up in the new numbers as they did in
// the old.
func (d *Draft) bindLayouts() {
	if len(d.Runs) == 0 {
		return
	}
	first := d.Runs[0]
	for i := range first.Layouts {
		if len(first.Layouts[i].Parts) == 0 || !d.alike(i) {
			continue
		}
		d.bindHeld(i)
		d.bindGrown(i)
		d.bindPutTogether(i)
	}
}

// alike says whether every size lays the same thing out at index i.
func (d *Draft) alike(i int) bool {
	a := &d.Runs[0].Layouts[i]
	for _, r := range d.Runs {
		if i >= len(r.Layouts) {
			return false
		}
		b := &r.Layouts[i]
		if b.Mark != a.Mark || len(b.Parts) != len(a.Parts) || len(b.Held) != len(a.Held) || len(b.Since) != len(a.Since) || b.Prev != a.Prev {
			return false
		}
	}
	return true
}

// promote makes the parts of layout i unknowns: they add up, equal ones stay equal, and each keeps its size.
func (d *Draft) promote(i int) {
	if d.Runs[0].Layouts[i].Bound {
		return
	}
	for _, r := range d.Runs {
		l := &r.Layouts[i]
		l.Bound = true
		sum := whole(0)
		for j, q := range l.Parts {
			d.Quantities[q].Shared = false
			d.Quantities[q].Least = 1
			if d.Quantities[q].Drafted[r.Size] == 0 {
				d.Quantities[q].Least = 0
			}
			sum = sum.Plus(of(q), 1)
			r.Scores = append(r.Scores, Score{Expr: of(q), Fabric: d.FabricOf(l.Mark), Tie: -1, Mark: l.Mark})
			for _, o := range l.Parts[:j] {
				if d.equalEverywhere(q, o) {
					r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: of(q).Plus(of(o), -1), Mark: l.Mark, Why: "parts drafted equal stay equal"})
					break
				}
			}
		}
		r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: sum.Plus(l.Total, -1), Mark: l.Mark, Why: "the parts of a layout add up to what is in hand"})
	}
}

// FabricOf is the fabric a marked instruction names, the first one where it names none.
func (d *Draft) FabricOf(i int) int {
	if f := d.File.Marks[i].Fabric; f != nil {
		if t, ok := d.names[f.Key]; ok && t.what == "fabric" {
			return d.placed(t.fabric, i)
		}
	}
	return d.placed(0, i)
}

func (d *Draft) equalEverywhere(a, b int) bool {
	x, y := d.Quantities[a].Drafted, d.Quantities[b].Drafted
	for s := range x {
		if x[s] != y[s] {
			return false
		}
	}
	return true
}

// bindHeld ties a part to what is held right after: the same number in every size.
func (d *Draft) bindHeld(i int) {
	l := &d.Runs[0].Layouts[i]
	used := map[int]bool{}
	for k, h := range l.Held {
		for j, q := range l.Parts {
			if used[j] || !d.equalEverywhere(q, h) || !d.sumsHold(i) {
				continue
			}
			used[j] = true
			d.promote(i)
			for _, r := range d.Runs {
				x := &r.Layouts[i]
				r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: of(x.Parts[j]).Plus(of(x.Held[k]), -1), Mark: x.Mark, Why: "a part that is held is as large as what is held"})
			}
			d.bindGusset(i, j)
			break
		}
	}
}

// bindPutTogether ties the parts of a layout to what was joined right before it: a sleeve, or half of a body that was itself laid out.
func (d *Draft) bindPutTogether(i int) {
	l := &d.Runs[0].Layouts[i]
	if l.Join < 0 || !d.sumsHold(i) {
		return
	}
	ways := make([]func(r *Run) Lin, len(l.Parts))
	var halves []int // layouts whose parts are bound with these
	for j := range l.Parts {
		for k := range d.Runs[0].Joins[l.Join].Parts {
			way := func(r *Run) Lin { return r.Joins[r.Layouts[i].Join].Parts[k] }
			if ways[j] == nil && d.partIs(i, j, way) {
				ways[j] = way
			}
		}
		for o := 0; o < i && ways[j] == nil; o++ {
			if !d.alike(o) || !d.laidInJoined(o, i) {
				continue
			}
			for k := range d.Runs[0].Layouts[o].Parts {
				way := func(r *Run) Lin { return of(r.Layouts[o].Parts[k]) }
				if d.partIs(i, j, way) {
					ways[j], halves = way, append(halves, o)
					break
				}
			}
		}
		if ways[j] == nil {
			return
		}
	}
	for _, o := range append(halves, i) {
		d.promote(o)
	}
	for _, r := range d.Runs {
		x := &r.Layouts[i]
		for j, q := range x.Parts {
			r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: of(q).Plus(ways[j](r), -1), Mark: x.Mark, Why: "a part is as large as what was joined"})
		}
	}
}

// partIs says whether part j of layout i is drafted so in every size.
func (d *Draft) partIs(i, j int, way func(r *Run) Lin) bool {
	for _, r := range d.Runs {
		v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
		if x := &r.Layouts[i]; x.Join < 0 || len(r.Joins[x.Join].Parts) != len(d.Runs[0].Joins[d.Runs[0].Layouts[i].Join].Parts) || way(r).At(v) != v(x.Parts[j]) {
			return false
		}
	}
	return true
}

// laidInJoined says whether layout o is of a piece that was joined right before layout i, and lays all of it out.
func (d *Draft) laidInJoined(o, i int) bool {
	if len(d.Runs[0].Layouts[o].Parts) == 0 || !d.sumsHold(o) {
		return false
	}
	for k := range d.Runs[0].Joins[d.Runs[0].Layouts[i].Join].Parts {
		all := true
		for _, r := range d.Runs {
			v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
			x := r.Layouts[i].Join
			all = all && x >= 0 && k < len(r.Joins[x].Parts) && r.Joins[x].Parts[k].At(v) == r.Layouts[o].Total.At(v)
		}
		if all {
			return true
		}
	}
	return false
}

// bindGusset ties a held part to the shaping that made it: in every size the same few stitches (four at most) and all that
// the shaping added, as a thumb's gusset is.
func (d *Draft) bindGusset(i, j int) {
	l := &d.Runs[0].Layouts[i]
	for k := range l.Grown {
		few := int64(-1)
		for s, r := range d.Runs {
			x := &r.Layouts[i]
			if k >= len(x.Grown) || x.Grown[k].Per <= 0 {
				return
			}
			v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
			n := v(x.Parts[j]) - x.Grown[k].Per*x.Grown[k].Times.At(v)
			if n < 0 || n > 4 || s > 0 && n != few {
				few = -1
				break
			}
			few = n
		}
		if few < 0 {
			continue
		}
		for _, r := range d.Runs {
			x := &r.Layouts[i]
			r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: of(x.Parts[j]).Plus(x.Grown[k].Times, -x.Grown[k].Per).Add(-few), Mark: x.Mark,
				Why: "a part that is held is what the shaping since made it"})
		}
		return
	}
}

// sumsHold says whether the drafted parts of layout i add up in every size; where they do not, that is reported, and nothing
// is bound to them.
func (d *Draft) sumsHold(i int) bool {
	for _, r := range d.Runs {
		l := &r.Layouts[i]
		v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
		var sum int64
		for _, q := range l.Parts {
			sum += v(q)
		}
		if sum != l.Total.At(v) {
			return false
		}
	}
	return true
}

// bindGrown ties the parts of a layout to those of the one before: each grows by so many stitches each time of the shaping
// between, if there is exactly one way to say how many.
func (d *Draft) bindGrown(i int) {
	l := &d.Runs[0].Layouts[i]
	if l.Prev < 0 || len(l.Since) == 0 || len(l.Since) > 3 || !d.sumsHold(i) || !d.sumsHold(l.Prev) {
		return
	}
	ways := make([][]int64, len(l.Parts))
	for j := range l.Parts {
		w := d.waysToGrow(i, j)
		if len(w) != 1 {
			return
		}
		ways[j] = w[0]
	}
	for k, g := range l.Since {
		var sum int64
		for j := range ways {
			sum += ways[j][k]
		}
		if sum != g.Per {
			return
		}
	}
	d.promote(l.Prev)
	d.promote(i)
	for _, r := range d.Runs {
		x := &r.Layouts[i]
		p := &r.Layouts[x.Prev]
		for j := range x.Parts {
			e := of(x.Parts[j]).Plus(of(p.Parts[j]), -1)
			for k, g := range x.Since {
				e = e.Plus(g.Times, -ways[j][k])
			}
			r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: e, Mark: x.Mark, Why: "each part grows by the shaping since it was laid out before"})
		}
	}
}

// waysToGrow is every way in which part j can have grown from the layout before, the same in all sizes: stitches a time of
// each shaping between, none more than that shaping does in all.
func (d *Draft) waysToGrow(i, j int) [][]int64 {
	since := d.Runs[0].Layouts[i].Since
	var out [][]int64
	try := make([]int64, len(since))
	var walk func(k int)
	walk = func(k int) {
		if len(out) > 1 {
			return
		}
		if k == len(since) {
			for _, r := range d.Runs {
				l := &r.Layouts[i]
				v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
				n := v(l.Parts[j]) - v(r.Layouts[l.Prev].Parts[j])
				for x, g := range l.Since {
					n -= try[x] * g.Times.At(v)
				}
				if n != 0 {
					return
				}
			}
			out = append(out, append([]int64(nil), try...))
			return
		}
		per, sign := since[k].Per, int64(1)
		if per < 0 {
			per, sign = -per, -1
		}
		for x := int64(0); x <= min(per, 32); x++ {
			try[k] = sign * x
			walk(k + 1)
		}
	}
	walk(0)
	return out
}

// bindSeams keeps the two edges of a shoulder seam alike. A back whose shoulders are bound off in steps and the sides of a
// front end with as many stitches as each other in every size, if they were drafted so; and in as many steps.
func (d *Draft) bindSeams() {
	if len(d.Runs) == 0 {
		return
	}
	told := map[int]bool{}
	for i, slope := range d.Runs[0].Slopes {
		for k, top := range d.Runs[0].Tops {
			if top.Mark == slope.Mark {
				continue
			}
			if !d.seam(i, k, slope.Mark, top.Mark) {
				if len(d.Runs[0].Slopes) == 1 && !told[top.Mark] {
					told[top.Mark] = true // a twin ends as its original does
					d.almostSeam(i, k, slope.Mark, top.Mark)
				}
				continue
			}
			for _, r := range d.Runs {
				a, b := r.Slopes[i], r.Tops[k]
				r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: b.Count.Plus(of(a.T), -1), Mark: b.Mark, Why: "the two sides of a shoulder seam, drafted equal, stay equal",
					Seam: &Seam{What: "the shoulder", Mark: a.Mark, It: b.Count, To: of(a.T)}})
				v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
				if b.Steps.At(v) == v(a.S) {
					r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: b.Steps.Plus(of(a.S), -1), Mark: b.Mark, Why: "a shoulder seam is stepped alike on both sides",
						Seam: &Seam{What: "the steps of the shoulder", Mark: a.Mark, It: b.Steps, To: of(a.S)}})
				}
			}
		}
	}
}

// almostSeam warns of shoulders that are equal in most sizes only.
func (d *Draft) almostSeam(i, k, slope, top int) {
	var x, y []Lin
	for _, r := range d.Runs {
		if i >= len(r.Slopes) || k >= len(r.Tops) || r.Slopes[i].Mark != slope || r.Tops[k].Mark != top {
			return
		}
		x, y = append(x, of(r.Slopes[i].T)), append(y, r.Tops[k].Count)
	}
	d.almost(x, y, slope, top, "the shoulder")
}

// seam says whether slope i and top k are drafted equal in every size.
func (d *Draft) seam(i, k, slope, top int) bool {
	for _, r := range d.Runs {
		if i >= len(r.Slopes) || k >= len(r.Tops) || r.Slopes[i].Mark != slope || r.Tops[k].Mark != top {
			return false
		}
		v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
		if r.Tops[k].Count.At(v) != v(r.Slopes[i].T) {
			return false
		}
	}
	return true
}
