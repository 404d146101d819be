package rewrite

import (
	"encoding/binary"
	"slices"

	"gaugewright/dsl"
	"gaugewright/rewrite/whole"
)

// frame is all of one size's problem that does not hang on a gauge or on a wish: which quantities are unknown, which of them
// hang together, and the relations as rules between them. It is never changed once made, so that problems share one.
type frame struct {
	d      *dsl.Draft
	run    *dsl.Run
	values []int64 // of every quantity: drafted, or fixed, until solved
	vars   []int   // quantities that are unknown
	varOf  []int   // of every quantity: its unknown, -1
	group  []int   // of every quantity: one that stands for all that hang together with it

	rules   []framed     // the relations that have an unknown, each once: a twin repeats what its original already says
	scores  []form       // of each score of the run
	lengths []heightForm // of each length of the run
	pickups []int        // of each pick-up of the run: the group of its count, -1
	better  []form       // what decides between answers of equal sums, the first first
}

// form is a linear form in the unknowns of a problem; group is -1 where it has none.
type form struct {
	group    int
	terms    []whole.Term
	constant int64
}

// framed is a relation as a form.
type framed struct {
	*dsl.Relation
	form
}

// heightForm says of a length where it belongs, and whether it makes a rule: not where its rows are worked already, nor where it
// repeats another.
type heightForm struct {
	group int
	rules bool
}

// newFrame looks at one size's run; a quantity that is constant has its drafted value.
func newFrame(d *dsl.Draft, run *dsl.Run, constant func(q *dsl.Quantity) bool) *frame {
	f := &frame{d: d, run: run, values: make([]int64, len(d.Quantities)), varOf: make([]int, len(d.Quantities)), group: make([]int, len(d.Quantities))}
	free := make([]bool, len(d.Quantities))
	for i, q := range d.Quantities {
		f.group[i], f.varOf[i] = i, -1
		if run.Size < len(q.Drafted) {
			f.values[i] = q.Drafted[run.Size]
		}
		free[i] = !q.Fixed && !constant(q) && q.Kind != dsl.Length && q.Kind != dsl.Yarn
	}
	use := func(first int, l dsl.Lin) int {
		for _, t := range l.Terms {
			if !free[t.Quantity] {
				continue
			}
			if f.varOf[t.Quantity] < 0 {
				f.varOf[t.Quantity] = len(f.vars)
				f.vars = append(f.vars, t.Quantity)
			}
			if first < 0 {
				first = t.Quantity
			} else {
				f.join(first, t.Quantity)
			}
		}
		return first
	}
	for i := range run.Relations {
		use(-1, run.Relations[i].Expr)
	}
	for i := range run.Scores {
		use(-1, run.Scores[i].Expr)
	}
	for _, rules := range [][]dsl.LengthRule{run.Lengths, run.Matches} {
		for i := range rules {
			first := use(-1, dsl.Lin{Terms: []dsl.Term{{Quantity: rules[i].Rows, Coef: 1}}})
			for _, h := range rules[i].Before {
				first = use(first, h.Rows)
			}
		}
	}
	for i := range run.Pickups {
		p := &run.Pickups[i]
		use(use(-1, dsl.Lin{Terms: []dsl.Term{{Quantity: p.Count, Coef: 1}}}), p.Rows)
	}
	for q := range f.group {
		f.group[q] = f.root(q)
	}
	f.fill()
	return f
}

func (f *frame) root(q int) int {
	for f.group[q] != q {
		f.group[q] = f.group[f.group[q]]
		q = f.group[q]
	}
	return q
}

func (f *frame) join(a, b int) { f.group[f.root(a)] = f.root(b) }

// fill writes what the run says as forms in the unknowns.
func (f *frame) fill() {
	run := f.run
	var room []whole.Term
	said := newOnce(len(run.Relations))
	f.rules = make([]framed, 0, len(run.Relations))
	for i := range run.Relations {
		r := &run.Relations[i]
		x := f.form(r.Expr, &room)
		if x.group < 0 {
			continue
		}
		if said.add(r.Expr, int64(r.Kind), r.Mod); said.first() {
			f.rules = append(f.rules, framed{r, x})
		}
	}
	f.scores = make([]form, len(run.Scores))
	for i := range run.Scores {
		f.scores[i] = f.form(run.Scores[i].Expr, &room)
	}
	heights := newOnce(len(run.Lengths))
	f.lengths = make([]heightForm, len(run.Lengths))
	for i := range run.Lengths {
		l := &run.Lengths[i]
		f.lengths[i].group = f.heightGroup(l)
		if f.varOf[l.Rows] < 0 {
			continue
		}
		heights.add(dsl.Lin{}, int64(l.Rows))
		for _, h := range l.Before {
			heights.add(h.Rows, int64(h.Fabric))
		}
		f.lengths[i].rules = heights.first()
	}
	f.pickups = make([]int, len(run.Pickups))
	for i := range run.Pickups {
		f.pickups[i] = f.groupOf(dsl.Lin{Terms: []dsl.Term{{Quantity: run.Pickups[i].Count, Coef: 1}}})
	}
	f.order(&room)
}

// order orders answers of equal sums: more stitches on the needles after the first instruction where they differ, then more rows,
// then the larger number.
func (f *frame) order(room *[]whole.Term) {
	f.better = make([]form, 0, 2*len(f.run.Stages)+len(f.vars))
	put := func(l dsl.Lin) {
		if x := f.form(l, room); x.group >= 0 {
			f.better = append(f.better, x)
		}
	}
	for i := range f.run.Stages {
		put(f.run.Stages[i].Count)
	}
	for i := range f.run.Stages {
		put(f.run.Stages[i].Rows)
	}
	for _, q := range f.vars {
		put(dsl.Lin{Terms: []dsl.Term{{Quantity: q, Coef: 1}}})
	}
}

// groupOf is the group a form belongs to, -1 where it has no unknown.
func (f *frame) groupOf(l dsl.Lin) int {
	for _, t := range l.Terms {
		if f.varOf[t.Quantity] >= 0 {
			return f.group[t.Quantity]
		}
	}
	return -1
}

func (f *frame) heightGroup(l *dsl.LengthRule) int {
	if f.varOf[l.Rows] >= 0 {
		return f.group[l.Rows]
	}
	for _, h := range l.Before {
		if g := f.groupOf(h.Rows); g >= 0 {
			return g
		}
	}
	return -1
}

func (f *frame) at(q int) int64 { return f.values[q] }

// form is a form in the problem's unknowns, its terms in room: a size has hundreds of forms of a term or two.
func (f *frame) form(l dsl.Lin, room *[]whole.Term) form {
	x := form{group: f.groupOf(l)}
	if x.group >= 0 {
		if n := len(l.Terms); cap(*room)-len(*room) < n {
			*room = make([]whole.Term, 0, max(n, 256))
		}
		at := len(*room)
		*room, x.constant = f.put(*room, l)
		x.terms = slices.Clip((*room)[at:])
	}
	return x
}

// linear is a form in the problem's unknowns: constants are put in.
func (f *frame) linear(l dsl.Lin) (terms []whole.Term, constant int64) {
	terms, constant = f.put(make([]whole.Term, 0, len(l.Terms)), l)
	return slices.Clip(terms), constant
}

// put adds the terms of a form to those given.
func (f *frame) put(terms []whole.Term, l dsl.Lin) ([]whole.Term, int64) {
	constant := l.Const
	for _, t := range l.Terms {
		if v := f.varOf[t.Quantity]; v >= 0 {
			terms = append(terms, whole.Term{Var: v, Coef: t.Coef})
		} else {
			constant += t.Coef * f.values[t.Quantity]
		}
	}
	return terms, constant
}

// once tells what was said before: numbers and linear forms are put together to one saying, which first ends.
type once struct {
	seen map[string]bool
	key  []byte
}

// newOnce has room for so many sayings.
func newOnce(n int) once { return once{seen: make(map[string]bool, n)} }

// add adds numbers and a form to the saying.
func (o *once) add(l dsl.Lin, numbers ...int64) {
	for _, n := range numbers {
		o.key = binary.AppendVarint(o.key, n)
	}
	o.key = binary.AppendVarint(o.key, int64(len(l.Terms)))
	for _, t := range l.Terms {
		o.key = binary.AppendVarint(binary.AppendVarint(o.key, int64(t.Quantity)), t.Coef)
	}
	o.key = binary.AppendVarint(o.key, l.Const)
}

// first ends the saying and reports whether it was not said before.
func (o *once) first() bool {
	said := o.seen[string(o.key)]
	if !said {
		o.seen[string(o.key)] = true
	}
	o.key = o.key[:0]
	return !said
}
