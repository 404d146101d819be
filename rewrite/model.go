package rewrite

import (
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strconv"

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
}

// why says what a rule of the problem asks for.
func (m *model) why(i int) string {
	r := &m.rules[i]
	if r.wish == nil {
		return r.why
	}
	return fmt.Sprintf("the rows of `%s` bring it within half a step of %s", m.d.File.Text(m.d.File.Marks[r.mark].PhraseSpan), dsl.CmText(r.wish, grammar.Centimetres))
}

// model is one size's problem: which quantities are unknown, and how rules lead back to the draft.
type model struct {
	d       *dsl.Draft
	run     *dsl.Run
	values  []int64 // of every quantity: drafted, or fixed, until solved
	vars    []int   // quantities that are unknown
	varOf   map[int]int
	group   []int // component of each quantity, by union-find
	problem *whole.Problem
	rules   []rule
	soft    []softRule
	perCm   [][2]*big.Rat // of each fabric: the width of a stitch, the height of a row
}

type softRule struct {
	variable int
	relation *dsl.Relation
}

// wishes is what a model is asked for: a size for each score and each length, in centimetres.
type wishes struct {
	gauges  []dsl.Gauge
	score   func(i int) *big.Rat
	length  func(i int) *big.Rat
	ratio   func(p *dsl.Pickup) (sts, rows int64)
	changed func(group int) bool
	pins    map[int]int64
}

// newModel looks at one size's run: constant quantities, unknown ones, and which of them hang together.
func newModel(d *dsl.Draft, run *dsl.Run, constant func(q *dsl.Quantity) bool) *model {
	m := &model{d: d, run: run, varOf: map[int]int{}, values: make([]int64, len(d.Quantities)), group: make([]int, len(d.Quantities))}
	free := make([]bool, len(d.Quantities))
	for i, q := range d.Quantities {
		m.group[i] = i
		if run.Size < len(q.Drafted) {
			m.values[i] = q.Drafted[run.Size]
		}
		free[i] = !q.Fixed && !constant(q) && q.Kind != dsl.Length && q.Kind != dsl.Yarn
	}
	use := func(first int, l dsl.Lin) int {
		for _, t := range l.Terms {
			if !free[t.Quantity] {
				continue
			}
			if _, ok := m.varOf[t.Quantity]; !ok {
				m.varOf[t.Quantity] = len(m.vars)
				m.vars = append(m.vars, t.Quantity)
			}
			if first < 0 {
				first = t.Quantity
			} else {
				m.join(first, t.Quantity)
			}
		}
		return first
	}
	for _, r := range run.Relations {
		use(-1, r.Expr)
	}
	for _, s := range run.Scores {
		use(-1, s.Expr)
	}
	for _, l := range run.Lengths {
		first := use(-1, dsl.Lin{Terms: []dsl.Term{{Quantity: l.Rows, Coef: 1}}})
		for _, h := range l.Before {
			first = use(first, h.Rows)
		}
	}
	for _, p := range run.Pickups {
		use(use(-1, dsl.Lin{Terms: []dsl.Term{{Quantity: p.Count, Coef: 1}}}), p.Rows)
	}
	return m
}

func (m *model) root(q int) int {
	for m.group[q] != q {
		m.group[q] = m.group[m.group[q]]
		q = m.group[q]
	}
	return q
}

func (m *model) join(a, b int) { m.group[m.root(a)] = m.root(b) }

// groupOf is the component a form belongs to, -1 where it has no unknown.
func (m *model) groupOf(l dsl.Lin) int {
	for _, t := range l.Terms {
		if _, ok := m.varOf[t.Quantity]; ok {
			return m.root(t.Quantity)
		}
	}
	return -1
}

func (m *model) heightGroup(l *dsl.LengthRule) int {
	if _, ok := m.varOf[l.Rows]; ok {
		return m.root(l.Rows)
	}
	for _, h := range l.Before {
		if g := m.groupOf(h.Rows); g >= 0 {
			return g
		}
	}
	return -1
}

func (m *model) at(q int) int64 { return m.values[q] }

// linear is a form in the problem's unknowns: constants are put in.
func (m *model) linear(l dsl.Lin) (terms []whole.Term, constant int64) {
	constant = l.Const
	terms = make([]whole.Term, 0, len(l.Terms))
	for _, t := range l.Terms {
		if v, ok := m.varOf[t.Quantity]; ok {
			terms = append(terms, whole.Term{Var: v, Coef: t.Coef})
		} else {
			constant += t.Coef * m.values[t.Quantity]
		}
	}
	return terms, constant
}

func (m *model) add(r whole.Rule, from rule) {
	m.problem.Rules = append(m.problem.Rules, r)
	m.rules = append(m.rules, from)
}

var errFine = errors.New("this gauge is too fine a fraction to work with: round it to two decimals")

// build makes the whole-number problem of the groups that changed.
func (m *model) build(w wishes) error {
	m.problem = &whole.Problem{Vars: make([]whole.Var, len(m.vars))}
	m.rules, m.soft = nil, nil
	m.problem.Rules = make([]whole.Rule, 0, len(m.run.Relations))
	m.problem.Scores = make([]whole.Score, 0, len(m.run.Scores))
	in := make([]bool, len(m.vars))
	ratio := m.largest(w.gauges)
	for i, q := range m.vars {
		in[i] = w.changed(m.root(q))
		v := m.values[q]
		hi := min(3*ratio*(v+20), dsl.MaxCount)
		x := whole.Var{Lo: m.d.Quantities[q].Least, Hi: hi, Hint: v}
		if m.d.Quantities[q].Role == "evenly" {
			x.Lo = -hi
		}
		if !in[i] {
			x.Lo, x.Hi = v, v
		}
		m.problem.Vars[i] = x
	}
	m.perCm = perCentimetre(w.gauges)
	seen := map[string]bool{}
	var key []byte
	first := func() bool {
		if seen[string(key)] {
			return false
		}
		seen[string(key)] = true
		return true
	}
	for i := range m.run.Relations {
		r := &m.run.Relations[i]
		g := m.groupOf(r.Expr)
		if g < 0 || !w.changed(g) {
			continue
		}
		key = appendNumbers(key[:0], int64(r.Kind), r.Mod)
		if key = appendLin(key, r.Expr); !first() {
			continue // a twin repeats what its original already says
		}
		terms, c := m.linear(r.Expr)
		x := whole.Rule{Terms: terms, Const: c}
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
			m.soft = append(m.soft, softRule{y, r})
			x.Kind = whole.AtLeast
			x.Terms = append(x.Terms, whole.Term{Var: y, Coef: m.switchOff(terms, c)})
			one := big.NewRat(1, 1)
			m.problem.Scores = append(m.problem.Scores, whole.Score{Terms: []whole.FracTerm{{Var: y, Coef: one}}, Weight: one})
		}
		m.add(x, rule{mark: r.Mark, why: r.Why, from: r.Mark})
	}
	for i := range m.run.Lengths {
		l := &m.run.Lengths[i]
		if g := m.heightGroup(l); g < 0 || !w.changed(g) {
			continue
		}
		if _, free := m.varOf[l.Rows]; !free {
			continue // already worked
		}
		key = appendNumbers(append(key[:0], "length"...), int64(l.Rows))
		for _, h := range l.Before {
			key = appendLin(appendNumbers(key, int64(h.Fabric)), h.Rows)
		}
		if !first() {
			continue
		}
		if err := m.lengthRule(l, w.length(i)); err != nil {
			return err
		}
	}
	for i := range m.run.Pickups {
		p := &m.run.Pickups[i]
		if g := m.groupOf(dsl.Lin{Terms: []dsl.Term{{Quantity: p.Count, Coef: 1}}}); p.Free || g < 0 || !w.changed(g) {
			continue
		}
		// count = rows·a/b to the nearest whole stitch, halves upwards: −b < 2b·count − 2a·rows ≤ b
		a, b := w.ratio(p)
		e := dsl.Lin{Terms: []dsl.Term{{Quantity: p.Count, Coef: 2 * b}}}.Plus(p.Rows, -2*a)
		why := "stitches are picked up along the rows, so many for so many"
		t, c := m.linear(e.Add(b - 1))
		m.add(whole.Rule{Kind: whole.AtLeast, Terms: t, Const: c}, rule{mark: p.Mark, why: why, from: p.Mark})
		t, c = m.linear(e.Times(-1).Add(b))
		m.add(whole.Rule{Kind: whole.AtLeast, Terms: t, Const: c}, rule{mark: p.Mark, why: why, from: p.Mark})
	}
	for i := range m.run.Scores {
		s := &m.run.Scores[i]
		g := m.groupOf(s.Expr)
		if g < 0 || !w.changed(g) {
			continue
		}
		m.problem.Scores = append(m.problem.Scores, m.score(s, w.score(i)))
		if s.Tie >= 0 {
			m.rounded(s, w.score(i), w.gauges)
		}
	}
	for q, n := range w.pins {
		v, ok := m.varOf[q]
		if !ok || !in[v] {
			continue
		}
		m.add(whole.Rule{Kind: whole.Equal, Terms: []whole.Term{{Var: v, Coef: 1}}, Const: -n, Rank: 10}, rule{mark: m.d.Quantities[q].Mark, why: fmt.Sprintf("%s is pinned to %d", m.d.Quantities[q].Name, n), from: m.d.Quantities[q].Mark})
	}
	for q := range w.pins {
		if v, ok := m.varOf[q]; ok {
			m.problem.Rules = favoured(m.problem.Rules, []whole.Term{{Var: v, Coef: 1}})
		}
	}
	m.preferences(w.changed)
	return nil
}

func appendNumbers(to []byte, ns ...int64) []byte {
	for _, n := range ns {
		to = strconv.AppendInt(append(to, ' '), n, 10)
	}
	return to
}

func appendLin(to []byte, l dsl.Lin) []byte {
	for _, t := range l.Terms {
		to = appendNumbers(to, int64(t.Quantity), t.Coef)
	}
	return appendNumbers(append(to, ';'), l.Const)
}

// perCentimetre is how wide a stitch and how high a row of each fabric is, in centimetres.
func perCentimetre(g []dsl.Gauge) [][2]*big.Rat {
	out := make([][2]*big.Rat, len(g))
	for i := range g {
		out[i] = [2]*big.Rat{new(big.Rat).Inv(g[i].Stitches), new(big.Rat).Inv(g[i].Rows)}
	}
	return out
}

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

// score is weight × (measured − wished)² as a score of the problem.
func (m *model) score(s *dsl.Score, wish *big.Rat) whole.Score {
	each := m.perCm[s.Fabric][0]
	if s.Rows {
		each = m.perCm[s.Fabric][1]
	}
	terms, c := m.linear(s.Expr)
	constant := new(big.Rat)
	for _, p := range s.Panels {
		c -= p.Stitches
		constant.Add(constant, new(big.Rat).Mul(new(big.Rat).SetInt64(p.Stitches), m.perCm[p.Fabric][0]))
	}
	constant.Add(constant, new(big.Rat).Mul(each, new(big.Rat).SetInt64(c)))
	constant.Sub(constant, wish)
	out := whole.Score{Terms: make([]whole.FracTerm, len(terms)), Const: constant}
	if s.Tie >= 0 {
		out.Weight = big.NewRat(tiedWeight, 1)
	}
	for i, t := range terms {
		coef := each
		if t.Coef != 1 {
			coef = new(big.Rat).Mul(each, new(big.Rat).SetInt64(t.Coef))
		}
		out.Terms[i] = whole.FracTerm{Var: t.Var, Coef: coef}
	}
	return out
}

// rounded keeps a tied count on the side its tie asks for.
func (m *model) rounded(s *dsl.Score, wish *big.Rat, g []dsl.Gauge) {
	q := m.d.Quantities[s.Tie]
	if q.Rounded == 0 || len(s.Expr.Terms) != 1 || s.Expr.Terms[0].Coef != 1 || s.Rows && len(s.Panels) > 0 {
		return
	}
	per := g[s.Fabric].Stitches
	if s.Rows {
		per = g[s.Fabric].Rows
	}
	x := new(big.Rat).Mul(wish, per)
	floor := new(big.Int).Div(x.Num(), x.Denom()).Int64()
	terms, c := m.linear(s.Expr)
	why := "the count is not more than the size"
	if q.Rounded > 0 {
		why = "the count is not less than the size"
		if !x.IsInt() {
			floor++
		}
		m.add(whole.Rule{Kind: whole.AtLeast, Terms: terms, Const: c - floor}, rule{mark: q.Mark, why: why, from: q.Mark})
		return
	}
	for i := range terms {
		terms[i].Coef = -terms[i].Coef
	}
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: terms, Const: floor - c}, rule{mark: q.Mark, why: why, from: q.Mark})
}

// lengthRule says that rows bring a height to within half a step of a length, halves upwards:
// −half < height − length ≤ half.
func (m *model) lengthRule(l *dsl.LengthRule, wish *big.Rat) error {
	half := new(big.Rat).Mul(big.NewRat(l.Step, 2), m.perCm[l.Fabric][1])
	type part struct {
		lin dsl.Lin
		inv *big.Rat
	}
	parts := []part{{dsl.Lin{Terms: []dsl.Term{{Quantity: l.Rows, Coef: 1}}}, m.perCm[l.Fabric][1]}}
	for _, h := range l.Before {
		parts = append(parts, part{h.Rows, m.perCm[h.Fabric][1]})
	}
	scale := new(big.Int).Set(half.Denom())
	scale = dsl.LCM(scale, wish.Denom())
	for _, p := range parts {
		scale = dsl.LCM(scale, p.inv.Denom())
	}
	if scale.BitLen() > 40 {
		return errFine
	}
	s := new(big.Rat).SetInt(scale)
	times := func(x *big.Rat) int64 { return new(big.Rat).Mul(s, x).Num().Int64() }
	e := dsl.Lin{Const: -times(wish)}
	for _, p := range parts {
		e = e.Plus(p.lin, times(p.inv))
	}
	h := times(half)
	t, c := m.linear(e.Add(h - 1))
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: t, Const: c}, rule{mark: l.Mark, from: l.From, wish: wish})
	t, c = m.linear(e.Times(-1).Add(h))
	m.add(whole.Rule{Kind: whole.AtLeast, Terms: t, Const: c}, rule{mark: l.Mark, from: l.From, wish: wish})
	return nil
}

// preferences orders answers of equal sums: more stitches on the needles after the first instruction where they differ,
// then more rows, then the larger number.
func (m *model) preferences(changed func(int) bool) {
	var rows [][]whole.Term
	for i := range m.run.Stages {
		s := &m.run.Stages[i]
		if g := m.groupOf(s.Count); g >= 0 && changed(g) {
			t, _ := m.linear(s.Count)
			m.problem.Better = append(m.problem.Better, t)
		}
		if g := m.groupOf(s.Rows); g >= 0 && changed(g) {
			t, _ := m.linear(s.Rows)
			rows = append(rows, t)
		}
	}
	m.problem.Better = append(m.problem.Better, rows...)
	for i, q := range m.vars {
		if changed(m.root(q)) {
			m.problem.Better = append(m.problem.Better, []whole.Term{{Var: i, Coef: 1}})
		}
	}
}

// outcome is a solved model.
type outcome struct {
	values []int64
	proven bool
	nodes  int
	given  []*dsl.Relation // costly relations that were left
	sum    *big.Rat
	x      []int64 // of the unknowns of the problem
}

// solve finds the whole numbers; a contradiction comes back as a diagnostic that names a smallest set of instructions.
func (m *model) solve() (*outcome, *grammar.Diagnostic) {
	a, err := m.problem.Solve(whole.Budget)
	if err != nil {
		return nil, m.explainFailure(err)
	}
	out := &outcome{values: append([]int64(nil), m.values...), proven: a.Proven, nodes: a.Nodes, sum: a.Sum, x: a.X}
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
