package rewrite

import (
	"errors"
	"fmt"
	"math/big"
	"slices"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite/whole"
)

// tiedWeight is how much more a tied size weighs than an untied one. With 16 no tied width misses its nearest possible
// value for the sake of untied ones.
const tiedWeight = 16

// rule says where a rule of the problem comes from.
type rule struct {
	mark int
	why  string // empty for a length, see [model.why]
	from int    // for a length: the mark it is measured from; else the same
	wish *big.Rat
	seam *dsl.Relation // of two pieces that meet
}

// why says what a rule of the problem asks for.
func (m *model) why(i int) string {
	r := &m.rules[i]
	if r.wish == nil {
		return r.why
	}
	return fmt.Sprintf("the rows of `%s` bring it within half a step of %s", m.d.File.Text(m.d.File.Marks[r.mark].PhraseSpan), dsl.CmText(r.wish, grammar.Centimetres))
}

// model is one size's problem, and how its rules lead back to the draft.
type model struct {
	*frame
	problem *whole.Problem
	rules   []rule
	soft    []softRule
	cloth   []cloth // of each fabric
}

// cloth is the width of a stitch and the height of a row, in centimetres.
type cloth struct{ stitch, row centimetres }

// centimetres is a length in the two forms it is wanted in.
type centimetres struct {
	dsl.Fraction
	rat *big.Rat
}

func inverse(x *big.Rat) centimetres {
	return centimetres{dsl.FractionOf(1).Over(dsl.FractionFrom(x)), new(big.Rat).Inv(x)}
}

type softRule struct {
	variable int
	relation *dsl.Relation
}

// wishes is what a model is asked for: a size for each score and each length, in centimetres.
type wishes struct {
	gauges  []dsl.Gauge
	score   func(i int) dsl.Fraction
	length  func(i int) *big.Rat
	ratio   func(p *dsl.Pickup) (sts, rows int64)
	changed func(group int) bool
	pins    map[int]int64
	parted  map[*dsl.Relation]bool // seams that cannot be kept
}

func (m *model) add(r whole.Rule, from rule) {
	m.problem.Rules = append(m.problem.Rules, r)
	m.rules = append(m.rules, from)
}

var errFine = errors.New("this gauge is too fine a fraction to work with: round it to two decimals")

// build makes the whole-number problem of the groups that changed.
func (f *frame) build(w wishes) (*model, error) {
	x := f.extent(w.changed)
	m := &model{frame: f, problem: &whole.Problem{
		Vars:   make([]whole.Var, len(f.vars), len(f.vars)+x.costly),
		Rules:  make([]whole.Rule, 0, x.rules),
		Scores: make([]whole.Score, 0, x.scores+x.costly),
		Better: make([][]whole.Term, 0, x.better),
	}, rules: make([]rule, 0, x.rules), soft: make([]softRule, 0, x.costly), cloth: make([]cloth, len(w.gauges))}
	for i, g := range w.gauges {
		m.cloth[i] = cloth{inverse(g.Stitches), inverse(g.Rows)}
	}
	m.unknowns(w)
	for i := range f.rules {
		if r := &f.rules[i]; w.changed(r.group) && !w.parted[r.Relation] {
			m.relation(r)
		}
	}
	for i, l := range f.lengths {
		if l.rules && w.changed(l.group) {
			if err := m.lengthRule(&f.run.Lengths[i], w.length(i)); err != nil {
				return nil, err
			}
		}
	}
	for i := range f.run.Matches {
		if l := &f.run.Matches[i]; f.varOf[l.Rows] >= 0 && w.changed(f.group[l.Rows]) {
			if err := m.lengthRule(l, new(big.Rat)); err != nil {
				return nil, err
			}
		}
	}
	for i, g := range f.pickups {
		if p := &f.run.Pickups[i]; !p.Free && g >= 0 && w.changed(g) {
			m.pickup(p, w)
		}
	}
	space := make([]whole.FracTerm, 0, x.terms)
	for i := range f.scores {
		form, s := &f.scores[i], &f.run.Scores[i]
		if form.group < 0 || !w.changed(form.group) {
			continue
		}
		wish := w.score(i)
		m.problem.Scores = append(m.problem.Scores, m.score(s, form, wish, &space))
		if s.Tie >= 0 {
			m.rounded(s, form, wish)
		}
	}
	m.pin(w)
	for i := range f.better {
		if b := &f.better[i]; w.changed(b.group) {
			m.problem.Better = append(m.problem.Better, b.terms)
		}
	}
	return m, nil
}

// extent is about how many rules, costly ones among them, scores, rows of the tie-break and terms of scores the groups that changed make.
func (f *frame) extent(changed func(int) bool) (x extent) {
	for i := range f.rules {
		if r := &f.rules[i]; changed(r.group) {
			x.rules++
			if r.Kind == dsl.Costly {
				x.costly++
			}
		}
	}
	for i := range f.lengths {
		if l := f.lengths[i]; l.rules && changed(l.group) {
			x.rules += 2
		}
	}
	x.rules += 2 * (len(f.pickups) + len(f.run.Matches))
	for i := range f.scores {
		if s := &f.scores[i]; s.group >= 0 && changed(s.group) {
			x.scores++
			x.terms += len(s.terms)
		}
	}
	for i := range f.better {
		if changed(f.better[i].group) {
			x.better++
		}
	}
	return x
}

// extent is how much there is of what a problem is made of, so that memory for it is asked for once.
type extent struct{ rules, costly, scores, better, terms int }

// unknowns gives each unknown its box; one whose group did not change keeps its value.
func (m *model) unknowns(w wishes) {
	ratio := m.largest(w.gauges)
	for i, q := range m.vars {
		v := m.values[q]
		if !w.changed(m.group[q]) {
			m.problem.Vars[i] = whole.Var{Lo: v, Hi: v, Hint: v}
			continue
		}
		hi := min(3*ratio*(v+20), dsl.MaxCount)
		x := whole.Var{Lo: m.d.Quantities[q].Least, Hi: hi, Hint: v}
		if m.d.Quantities[q].Role == "evenly" {
			x.Lo = -hi
		}
		m.problem.Vars[i] = x
	}
}

func (m *model) relation(r *framed) {
	x := whole.Rule{Terms: r.terms, Const: r.constant}
	switch r.Kind {
	case dsl.Zero:
		x.Kind = whole.Equal
	case dsl.AtLeast:
		x.Kind = whole.AtLeast
	case dsl.Multiple:
		x.Kind, x.Modulus = whole.Multiple, r.Mod
	case dsl.Costly:
		// Leaving it costs as much as being 1 cm off.
		y := len(m.problem.Vars)
		m.problem.Vars = append(m.problem.Vars, whole.Var{Lo: 0, Hi: 1})
		m.soft = append(m.soft, softRule{y, r.Relation})
		x.Kind = whole.AtLeast
		x.Terms = append(x.Terms, whole.Term{Var: y, Coef: m.switchOff(r.terms, r.constant)})
		m.problem.Scores = append(m.problem.Scores, whole.Score{Terms: []whole.FracTerm{{Var: y, Coef: unit}}, Weight: unit})
	}
	from := rule{mark: r.Mark, why: r.Why, from: r.Mark}
	if r.Seam != nil {
		from.seam = r.Relation
	}
	m.add(x, from)
}

// pickup binds stitches picked up to the rows they are picked up along: count = rows·a/b to the nearest whole stitch, halves
// upwards, which is −b < 2b·count − 2a·rows ≤ b.
func (m *model) pickup(p *dsl.Pickup, w wishes) {
	a, b := w.ratio(p)
	e := dsl.Lin{Terms: []dsl.Term{{Quantity: p.Count, Coef: 2 * b}}}.Plus(p.Rows, -2*a)
	from := rule{mark: p.Mark, why: "stitches are picked up along the rows, so many for so many", from: p.Mark}
	t, c := m.linear(e.Add(b - 1))
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: t, Const: c}, from)
	t, c = m.linear(e.Times(-1).Add(b))
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: t, Const: c}, from)
}

// pin holds what is pinned, and lets what stands beside it be named first where that contradicts something.
func (m *model) pin(w wishes) {
	if len(w.pins) == 0 {
		return
	}
	for v, q := range m.vars {
		if n, ok := w.pins[q]; ok && w.changed(m.group[q]) {
			m.add(whole.Rule{Kind: whole.Equal, Terms: []whole.Term{{Var: v, Coef: 1}}, Const: -n, Rank: 10}, rule{mark: m.d.Quantities[q].Mark, why: fmt.Sprintf("%s is pinned to %d", m.d.Quantities[q].Name, n), from: m.d.Quantities[q].Mark})
		}
	}
	for v, q := range m.vars {
		if _, ok := w.pins[q]; ok {
			m.problem.Rules = favoured(m.problem.Rules, []whole.Term{{Var: v, Coef: 1}})
		}
	}
}

// Weights, which are never changed.
var (
	unit = big.NewRat(1, 1)
	tied = big.NewRat(tiedWeight, 1)
)

// switchOff is the least number that, added to a form, makes it at least zero whatever its unknowns are.
func (m *model) switchOff(terms []whole.Term, constant int64) int64 {
	low := constant
	for _, t := range terms {
		if t.Coef > 0 {
			low += t.Coef * m.problem.Vars[t.Var].Lo
		} else {
			low += t.Coef * m.problem.Vars[t.Var].Hi
		}
	}
	return max(1, -low)
}

// largest is the most any count can be expected to grow by.
func (m *model) largest(g []dsl.Gauge) int64 {
	most := int64(1)
	for i, f := range m.d.Fabrics {
		for _, r := range []*big.Rat{new(big.Rat).Quo(g[i].Stitches, f.Gauge.Stitches), new(big.Rat).Quo(g[i].Rows, f.Gauge.Rows)} {
			if x := new(big.Int).Quo(r.Num(), r.Denom()); x.IsInt64() && x.Int64()+1 > most {
				most = x.Int64() + 1
			}
		}
	}
	return min(most, 1000)
}

// named is the problem with names for the unknowns, which only its readers need.
func (m *model) named() *whole.Problem {
	p := *m.problem
	p.Vars = slices.Clone(p.Vars)
	for i := range p.Vars {
		if i < len(m.vars) {
			p.Vars[i].Name = m.name(m.vars[i])
		} else {
			p.Vars[i].Name = fmt.Sprintf("leaves_%d", i)
		}
	}
	return &p
}

func (m *model) name(q int) string {
	x := m.d.Quantities[q]
	line, col := m.d.File.Position(m.d.File.Marks[x.Mark].Span.Start)
	return fmt.Sprintf("%s_%d_%d_%d", word(x.Role), line, col, q)
}

// word is a role as a name in a problem file.
func word(s string) string {
	out := []byte(s)
	for i, b := range out {
		if b == ' ' {
			out[i] = '_'
		}
	}
	return string(out)
}

// score is weight × (measured − wished)² as a score of the problem, its terms taken from space.
func (m *model) score(s *dsl.Score, f *form, wish dsl.Fraction, space *[]whole.FracTerm) whole.Score {
	each := m.cloth[s.Fabric].stitch
	if s.Rows {
		each = m.cloth[s.Fabric].row
	}
	c := f.constant
	constant := wish.Neg()
	for _, p := range s.Panels {
		c -= p.Stitches
		constant = constant.Plus(m.cloth[p.Fabric].stitch.Times(dsl.FractionOf(p.Stitches)))
	}
	if c != 0 {
		constant = constant.Plus(each.Times(dsl.FractionOf(c)))
	}
	from := len(*space)
	for _, t := range f.terms {
		coef := each.rat
		if t.Coef != 1 {
			coef = each.Times(dsl.FractionOf(t.Coef)).Rat()
		}
		*space = append(*space, whole.FracTerm{Var: t.Var, Coef: coef})
	}
	out := whole.Score{Terms: (*space)[from:len(*space):len(*space)], Const: exactly(constant)}
	if s.Tie >= 0 {
		out.Weight = tied
	}
	return out
}

func exactly(x dsl.Fraction) whole.Constant {
	if num, den, ok := x.Small(); ok {
		return whole.Constant{Num: num, Den: den}
	}
	return whole.Constant{Big: x.Rat()}
}

// rounded keeps a tied count on the side its tie asks for.
func (m *model) rounded(s *dsl.Score, f *form, wish dsl.Fraction) {
	q := m.d.Quantities[s.Tie]
	if q.Rounded == 0 || len(s.Expr.Terms) != 1 || s.Expr.Terms[0].Coef != 1 || s.Rows && len(s.Panels) > 0 {
		return
	}
	each := m.cloth[s.Fabric].stitch
	if s.Rows {
		each = m.cloth[s.Fabric].row
	}
	x := wish.Over(each.Fraction)
	floor, ok := x.Floor()
	if !ok {
		return // no length that is read is so many stitches
	}
	if q.Rounded > 0 {
		if !x.IsInt() {
			floor++
		}
		m.add(whole.Rule{Kind: whole.AtLeast, Terms: f.terms, Const: f.constant - floor}, rule{mark: q.Mark, why: "the count is not less than the size", from: q.Mark})
		return
	}
	terms := slices.Clone(f.terms)
	for i := range terms {
		terms[i].Coef = -terms[i].Coef
	}
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: terms, Const: floor - f.constant}, rule{mark: q.Mark, why: "the count is not more than the size", from: q.Mark})
}

// lengthRule says that rows bring a height to within half a step of a length, halves upwards:
// −half < height − length ≤ half.
func (m *model) lengthRule(l *dsl.LengthRule, wish *big.Rat) error {
	row := m.cloth[l.Fabric].row.Fraction
	half := row.Times(dsl.FractionOf(l.Step)).Over(dsl.FractionOf(2))
	length := dsl.FractionFrom(wish)
	// All of it in whole numbers: times the least common multiple of the denominators.
	scale := newScale()
	scale.take(half)
	scale.take(length)
	scale.take(row)
	for _, h := range l.Before {
		scale.take(m.cloth[h.Fabric].row.Fraction)
	}
	if !scale.fits() {
		return errFine
	}
	e := dsl.Lin{Const: -scale.of(length), Terms: []dsl.Term{{Quantity: l.Rows, Coef: scale.of(row)}}}
	for _, h := range l.Before {
		e = e.Plus(h.Rows, scale.of(m.cloth[h.Fabric].row.Fraction))
	}
	h := scale.of(half)
	terms, c := m.linear(e)
	from := rule{mark: l.Mark, from: l.From, wish: wish}
	if l.Length < 0 {
		from = rule{mark: l.Mark, from: l.Mark, why: "its rows bring it as high as the piece that it matches"}
	}
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: terms, Const: c + h - 1}, from)
	back := slices.Clone(terms)
	for i := range back {
		back[i].Coef = -back[i].Coef
	}
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: back, Const: h - c}, from)
	return nil
}

// scale is the least number that makes fractions whole when they are multiplied by it.
type scale struct{ by int64 }

// maxScale is the largest that is worked with: a gauge in a finer fraction was not counted off a swatch.
const maxScale = 1<<40 - 1

func newScale() scale { return scale{1} }

// take makes the scale serve for x too.
func (s *scale) take(x dsl.Fraction) {
	_, den, ok := x.Small()
	if !ok || !s.fits() || den > maxScale {
		s.by = 0
		return
	}
	if more := den / gcd64(s.by, den); s.by > maxScale/more {
		s.by = 0
	} else {
		s.by *= more
	}
}

func (s *scale) fits() bool { return s.by > 0 }

// of is x times the scale.
func (s *scale) of(x dsl.Fraction) int64 {
	num, den, _ := x.Small()
	return num * (s.by / den)
}

// outcome is a solved model.
type outcome struct {
	undecided bool            // neither values nor a contradiction were found
	seams     []*dsl.Relation // those that take part in the contradiction
	values    []int64
	proven    bool
	nodes     int
	given     []*dsl.Relation // costly relations that were left
	x         []int64         // of the unknowns of the problem
}

func (o *outcome) at(q int) int64 { return o.values[q] }

// solve finds the whole numbers; a contradiction comes back as a diagnostic that names a smallest set of instructions.
func (m *model) solve(budget int) (*outcome, *grammar.Diagnostic) {
	a, err := m.problem.Solve(budget)
	if err != nil {
		var u *whole.Undecided
		return &outcome{undecided: errors.As(err, &u), seams: m.seamsIn(err)}, m.explainFailure(err)
	}
	out := &outcome{values: append([]int64(nil), m.values...), proven: a.Proven, nodes: a.Nodes, x: a.X}
	for i, q := range m.vars {
		out.values[q] = a.X[i]
	}
	for _, s := range m.soft {
		if a.X[s.variable] != 0 {
			out.given = append(out.given, s.relation)
		}
	}
	return out, nil
}

// seamsIn is the seams that take part in a contradiction.
func (m *model) seamsIn(err error) (out []*dsl.Relation) {
	var c *whole.Contradiction
	if errors.As(err, &c) {
		for _, r := range c.Rules {
			if s := m.rules[r].seam; s != nil {
				out = append(out, s)
			}
		}
	}
	return out
}

func (m *model) explainFailure(err error) *grammar.Diagnostic {
	d := &grammar.Diagnostic{Severity: grammar.Error}
	var c *whole.Contradiction
	if !errors.As(err, &c) {
		d.Summary = "no whole numbers were found for this draft at this gauge: " + err.Error()
		d.WayOut = "leave out a pin, or convert one size at a time"
		if len(m.d.File.Marks) > 0 {
			d.Span = m.d.File.Marks[0].Span
		}
		return d
	}
	d.Summary = "these cannot all hold at this gauge and size"
	seen := map[string]bool{}
	for i, r := range c.Rules {
		from := m.rules[r]
		span := m.d.File.Marks[from.mark].PhraseSpan
		if i == 0 {
			d.Span = span
		}
		why := m.why(r)
		key := fmt.Sprint(from.mark, why)
		if seen[key] {
			continue
		}
		seen[key] = true
		d.Related = append(d.Related, grammar.Related{Span: span, Text: why})
		d.Related = append(d.Related, m.standing(from.from, from.mark)...)
	}
	if len(c.Rules) == 0 && len(m.d.File.Marks) > 0 {
		d.Span = m.d.File.Marks[0].Span
		d.Detail = "the bounds of the numbers themselves contradict each other"
	}
	d.WayOut = "loosen one of them: another length, another multiple, one pin fewer"
	return d
}

// standing is the instructions between two marks whose rows cannot move: they are part of a height that cannot be met.
func (m *model) standing(from, to int) []grammar.Related {
	var out []grammar.Related
	for i := range m.run.Stages {
		s := &m.run.Stages[i]
		if s.Mark < from || s.Mark >= to || m.groupOf(s.Rows) >= 0 {
			continue
		}
		if n := s.Rows.At(m.at); n > 1 {
			out = append(out, grammar.Related{Span: m.d.File.Marks[s.Mark].PhraseSpan, Text: fmt.Sprintf("these %d rows stay as they are", n)})
		}
	}
	return out
}
