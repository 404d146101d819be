package dsl

import (
	"errors"
	"fmt"
	"math/big"
	"strings"

	"gaugewright/grammar"
)

// Target is the size worked for: one of the drafted sizes (Lo == Hi), or a wearer between two of them.
type Target struct {
	Name    string
	Lo, Hi  int
	T       *big.Rat            // 0 at Lo, 1 at Hi; outside 0…1 where the wearer lies beyond the drafted sizes
	Replace map[string]*big.Rat // measures of the wearer in centimetres (or plain numbers), by name key
}

// DraftedSize is size s as drafted.
func (d *Draft) DraftedSize(s int) Target {
	return Target{Name: d.Sizes[s], Lo: s, Hi: s, T: new(big.Rat)}
}

// Base is the drafted size whose structure a target takes (which clauses occur, what is fixed): the nearest one.
func (t Target) Base() int {
	if t.Lo != t.Hi && t.T.Cmp(half) >= 0 {
		return t.Hi
	}
	return t.Lo
}

// Between is the value at the target of something that is lo and hi at its two sizes.
func (t Target) Between(lo, hi *big.Rat) *big.Rat {
	if t.Lo == t.Hi || lo.Cmp(hi) == 0 {
		return lo
	}
	x := new(big.Rat).Sub(hi, lo)
	return x.Add(lo, x.Mul(x, t.T))
}

// DraftedGauges is the gauge of each fabric as drafted.
func (d *Draft) DraftedGauges() []Gauge {
	if len(d.gauges) != len(d.Fabrics) {
		d.gauges = make([]Gauge, len(d.Fabrics))
		for i, f := range d.Fabrics {
			d.gauges[i] = f.Gauge
		}
	}
	return d.gauges
}

// Unit is the unit the draft is written in: that of its first measure with one, else that of its gauge.
func (d *Draft) Unit() grammar.Unit {
	for _, m := range d.Measures {
		if l, ok := m.Expr.(*grammar.Lit); ok && l.Value.Unit.IsLength() {
			return l.Value.Unit
		}
	}
	return d.Fabrics[0].Def.Gauge.Over.Unit
}

// Form is what an expression comes to: a constant, or a linear form over counts that are not known yet.
type Form struct {
	Kind  Kind
	Const *big.Rat // centimetres for a Length
	Terms []FormTerm
	Expr  grammar.Expr
}

// FormTerm is one summand of a Form.
type FormTerm struct {
	Quantity int
	Coef     *big.Rat
}

// Numbers that are needed over and over. They are never changed.
var (
	one       = big.NewRat(1, 1)
	minusOne  = big.NewRat(-1, 1)
	two       = big.NewRat(2, 1)
	half      = big.NewRat(1, 2)
	tenth     = big.NewRat(1, 10)
	hundredth = big.NewRat(1, 100)
	two54     = big.NewRat(254, 100)
	mostCm    = big.NewRat(maxCm, 1)
	leastCm   = big.NewRat(-maxCm, 1)
)

// cmPer is the centimetres in one of the unit; the inch is exactly 2.54 cm (international yard and pound agreement,
// 1959).
func cmPer(u grammar.Unit) *big.Rat {
	switch u {
	case grammar.Inches:
		return two54
	case grammar.Millimetres:
		return tenth
	}
	return one
}

// beyondTape says whether a length is longer, forwards or backwards, than anything knitted by hand.
func beyondTape(x *big.Rat) bool {
	if x.IsInt() && x.Num().IsInt64() { // as most are, and this is the quicker way
		n := x.Num().Int64()
		return n > maxCm || n < -maxCm
	}
	return x.Cmp(mostCm) > 0 || x.Cmp(leastCm) < 0
}

// numAt is the number of a value at size s.
func numAt(v *grammar.Value, s int) *grammar.Num {
	if len(v.Nums) == 1 {
		return &v.Nums[0]
	}
	if s < len(v.Nums) {
		return &v.Nums[s]
	}
	return &v.Nums[len(v.Nums)-1]
}

func cm(v *grammar.Value, s int) (*big.Rat, error) {
	if v == nil || !v.Unit.IsLength() {
		return nil, errors.New("a length is wanted here, with its unit: cm, mm or in")
	}
	x := new(big.Rat).Mul(numAt(v, s).Val, cmPer(v.Unit))
	if x.Sign() > 0 && beyondTape(x) {
		return nil, fmt.Errorf("%s is longer than anything knitted by hand", numAt(v, s).Text)
	}
	return x, nil
}

func kindOfUnit(u grammar.Unit) Kind {
	switch {
	case u.IsLength():
		return Length
	case u == grammar.Stitches:
		return Stitches
	case u.IsRows():
		return Rows
	case u == grammar.Grams || u == grammar.Ounces || u == grammar.Metres || u == grammar.Yards || u == grammar.Balls:
		return Yarn
	}
	return Plain
}

// typeError is an error with the place it is about.
type typeError struct {
	at     grammar.Span
	msg    string
	wayOut string
}

func (e *typeError) Error() string { return e.msg }

func bad(at grammar.Span, wayOut, format string, args ...any) error {
	return &typeError{at, fmt.Sprintf(format, args...), wayOut}
}

// sight is where an expression is evaluated from: a target, the gauges, and the measures being worked out already.
type sight struct {
	d      *Draft
	t      Target
	g      []Gauge
	inside []int // measures being evaluated, to stop at a circle
	memo   map[int]*Form
	depth  int
}

func (d *Draft) from(t Target, g []Gauge) *sight {
	s := &sight{d: d, t: t, g: g}
	if len(d.Measures) > 0 && t.Lo == t.Hi && t.Replace == nil && len(g) > 0 && len(d.gauges) > 0 && &g[0] == &d.gauges[0] {
		// The drafted sizes at the drafted gauges are asked after over and over.
		if d.measured == nil {
			d.measured = make([]map[int]*Form, len(d.Sizes))
		}
		if d.measured[t.Lo] == nil {
			d.measured[t.Lo] = map[int]*Form{}
		}
		s.memo = d.measured[t.Lo]
	} else {
		s.memo = map[int]*Form{}
	}
	return s
}

// MeasureAt is the value of a measure, in centimetres if it is a length.
func (d *Draft) MeasureAt(i int, t Target, g []Gauge) (*big.Rat, error) {
	f, err := d.from(t, g).measure(i)
	if err != nil {
		return nil, err
	}
	return f.Const, nil
}

// circleError is a circle of measures, told once, at the first of them.
type circleError struct {
	typeError
	related []grammar.Related
}

// circle describes the measures that need one another, ending with i, which needs itself.
func (s *sight) circle(i int) error {
	from := 0
	for s.inside[from] != i {
		from++
	}
	ring := s.inside[from:]
	least := 0
	for k := range ring {
		if ring[k] < ring[least] {
			least = k
		}
	}
	ring = append(append([]int(nil), ring[least:]...), ring[:least]...)
	e := &circleError{}
	var said []string
	for k, m := range ring {
		next := ring[(k+1)%len(ring)]
		said = append(said, s.d.Measures[m].Name.Text+" needs "+s.d.Measures[next].Name.Text)
		if k > 0 {
			e.related = append(e.related, grammar.Related{Span: s.d.Measures[m].Def.Span, Text: "it needs this"})
		}
	}
	first := s.d.Measures[ring[0]]
	e.typeError = typeError{first.Def.Span, "these measures go in a circle: " + strings.Join(said, ", and "), "give one of them a value of its own"}
	if len(ring) == 1 {
		e.msg = "the measure " + first.Name.Text + " needs itself"
	}
	return e
}

// Eval is the value of a tie's expression for a target at a gauge. The error is fit for a user.
func (d *Draft) Eval(e grammar.Expr, t Target, g []Gauge) (*Form, error) { return d.Evaluator(t, g)(e) }

// Evaluator is Eval for many expressions: what the measures come to is worked out once for all of them.
func (d *Draft) Evaluator(t Target, g []Gauge) func(grammar.Expr) (*Form, error) {
	s := d.from(t, g)
	return func(e grammar.Expr) (*Form, error) {
		f, err := s.eval(e)
		if err != nil {
			return nil, err
		}
		out := *f // which may be a measure's, and known to others
		out.Expr = e
		return &out, nil
	}
}

func (s *sight) measure(i int) (*Form, error) {
	m := s.d.Measures[i]
	if x, ok := s.t.Replace[m.Name.Key]; ok {
		return &Form{Kind: m.Kind, Const: x}, nil
	}
	if f, ok := s.memo[i]; ok {
		return f, nil
	}
	for _, j := range s.inside {
		if i == j {
			return nil, s.circle(i)
		}
	}
	in := *s
	in.inside, in.depth = append(append([]int(nil), s.inside...), i), s.depth+1
	f, err := in.eval(m.Expr)
	if err != nil {
		return nil, err
	}
	s.memo[i] = f
	return f, nil
}

func (s *sight) eval(e grammar.Expr) (*Form, error) {
	switch e := e.(type) {
	case *grammar.Lit:
		return s.literal(e.Value)
	case *grammar.NameRef:
		t, ok := s.d.names[e.Name.Key]
		if !ok {
			return nil, bad(e.Name.Span, s.d.knownWayOut(e.Name.Key, ""), "nothing here is called %s", e.Name.Text)
		}
		switch {
		case t.what == "measure":
			return s.measure(t.measure)
		case t.what == "fabric":
			return nil, bad(e.Name.Span, "write `24 rows in "+e.Name.Text+"` for a length in that fabric", "%s is a fabric, not a number", e.Name.Text)
		case t.number < 0:
			return nil, bad(e.Name.Span, "put `as NAME` on an instruction with a number", "%s is a place, and stands on no number", e.Name.Text)
		}
		q := s.d.Quantities[t.number]
		if q.Kind == Length || q.Kind == Yarn {
			x, err := s.d.Stated(q, s.t)
			if err != nil {
				return nil, err
			}
			if q.Tie != nil && q.Tie.Expr != nil && q.Tie.Kind == Length && s.depth < 20 {
				in := *s
				in.depth++
				return in.eval(q.Tie.Expr)
			}
			return &Form{Kind: q.Kind, Const: x}, nil
		}
		return &Form{Kind: q.Kind, Const: new(big.Rat), Terms: []FormTerm{{q.ID, one}}}, nil
	case *grammar.Neg:
		f, err := s.eval(e.X)
		if err != nil {
			return nil, err
		}
		return f.scaled(minusOne), nil
	case *grammar.Binary:
		return s.binary(e)
	case *grammar.Choice:
		var best *Form
		for _, x := range e.Of {
			f, err := s.eval(x)
			if err != nil {
				return nil, err
			}
			if len(f.Terms) > 0 {
				return nil, bad(x.ExprSpan(), "choose between lengths, or tie to one of the counts", "the smaller or larger of two counts is not known before the counts are")
			}
			if best != nil && best.Kind != f.Kind {
				return nil, bad(x.ExprSpan(), "", "%s and %s cannot be compared", best.Kind, f.Kind)
			}
			if best == nil || e.Larger == (f.Const.Cmp(best.Const) > 0) {
				best = f
			}
		}
		return best, nil
	case *grammar.InFabric:
		f, err := s.eval(e.X)
		if err != nil {
			return nil, err
		}
		t, ok := s.d.names[e.Fabric.Key]
		if !ok || t.what != "fabric" {
			return nil, bad(e.Fabric.Span, s.d.knownWayOut(e.Fabric.Key, "fabric"), "%s is no fabric of this draft", e.Fabric.Text)
		}
		if f.Kind != Stitches && f.Kind != Rows {
			return nil, bad(e.Span, "", "%s is not a count, so it has no length in %s", f.Kind, e.Fabric.Text)
		}
		if len(f.Terms) > 0 {
			return nil, bad(e.Span, "write the number of stitches or rows itself, or tie to the name alone", "a count that is not known yet cannot be turned into a length here")
		}
		per := s.g[t.fabric].Stitches
		if f.Kind == Rows {
			per = s.g[t.fabric].Rows
		}
		return &Form{Kind: Length, Const: new(big.Rat).Quo(f.Const, per)}, nil
	}
	return nil, errors.New("an expression is missing")
}

func (s *sight) literal(v *grammar.Value) (*Form, error) {
	if n := len(v.Nums); n != 1 && n != len(s.d.Sizes) {
		return nil, bad(v.Span, "give one number for all sizes, or one for each", "%d values for %d sizes", n, len(s.d.Sizes))
	}
	if v.Unit == grammar.Percent {
		x := s.t.Between(numAt(v, s.t.Lo).Val, numAt(v, s.t.Hi).Val)
		return &Form{Kind: Plain, Const: new(big.Rat).Mul(x, hundredth)}, nil
	}
	k := kindOfUnit(v.Unit)
	if k == Yarn {
		return nil, bad(v.Span, "", "an amount of yarn is no measure")
	}
	per := one
	if k == Length {
		per = cmPer(v.Unit)
	}
	if v.Unit == grammar.Ridges {
		per = two
	}
	lo, hi := numAt(v, s.t.Lo).Val, numAt(v, s.t.Hi).Val
	x := s.t.Between(lo, hi)
	if x != lo && !(s.t.T.Sign() == 0) && lo.Cmp(hi) != 0 {
		x = tidy(x, v.Unit)
	}
	if per != one {
		x = new(big.Rat).Mul(x, per)
	}
	if beyondTape(x) {
		return nil, bad(v.Span, "", "%s is beyond anything knitted by hand", numAt(v, s.t.Lo).Text)
	}
	return &Form{Kind: k, Const: x}, nil
}

// tidy rounds a value that lies between two sizes to what can be written in the block and worked with: a tenth of a
// centimetre, an eighth of an inch, a whole count, a hundredth.
func tidy(x *big.Rat, u grammar.Unit) *big.Rat {
	step := hundredth
	switch {
	case u == grammar.Centimetres:
		step = tenth
	case u == grammar.Inches:
		step = big.NewRat(1, 8)
	case u == grammar.Millimetres, u == grammar.Stitches, u.IsRows():
		step = one
	}
	return RoundTo(x, step)
}

// Tidy is the number written for a literal value at a target that lies between two sizes.
func Tidy(v *grammar.Value, t Target) *big.Rat {
	lo, hi := numAt(v, t.Lo).Val, numAt(v, t.Hi).Val
	if t.Lo == t.Hi || t.T.Sign() == 0 || lo.Cmp(hi) == 0 {
		return lo
	}
	return tidy(t.Between(lo, hi), v.Unit)
}

// RoundTo is x to the nearest multiple of step, halves upwards.
func RoundTo(x, step *big.Rat) *big.Rat { return FractionFrom(x).RoundTo(FractionFrom(step)).Rat() }

func (f *Form) scaled(k *big.Rat) *Form {
	out := &Form{Kind: f.Kind, Const: new(big.Rat).Mul(f.Const, k)}
	for _, t := range f.Terms {
		out.Terms = append(out.Terms, FormTerm{t.Quantity, new(big.Rat).Mul(t.Coef, k)})
	}
	return out
}

func (f *Form) isPlain() bool { return f.Kind == Plain && len(f.Terms) == 0 }

func (s *sight) binary(e *grammar.Binary) (*Form, error) {
	l, err := s.eval(e.L)
	if err != nil {
		return nil, err
	}
	// `chest - 10%` takes a tenth off the chest; `foot + ease` with `ease = -10%` says the same.
	r, err := s.eval(e.R)
	if err != nil {
		return nil, err
	}
	switch e.Op {
	case '+', '-':
		if l.Kind != Plain && r.isPlain() && s.isPercent(e.R, 0) {
			k := new(big.Rat).Set(r.Const)
			if e.Op == '-' {
				k.Neg(k)
			}
			return l.scaled(k.Add(k, one)), nil
		}
		if l.Kind != r.Kind {
			// A plain number that is added to a count carries its unit from there only where the draft says so.
			way := "write a length on both sides (`back width + 1 cm`), or name the count and tie to that (`back + 2 sts`)"
			if l.Kind == Plain || r.Kind == Plain {
				way = "write the unit: `" + "- 2 sts" + "` or `" + "+ 1 cm" + "`"
			}
			return nil, bad(e.Span, way, "%s and %s cannot be added or subtracted", l.Kind, r.Kind)
		}
		if e.Op == '-' {
			r = r.scaled(minusOne)
		}
		out := &Form{Kind: l.Kind, Const: new(big.Rat).Add(l.Const, r.Const)}
		out.Terms = append(append(out.Terms, l.Terms...), r.Terms...)
		return out, nil
	case '*':
		if l.isPlain() {
			return r.scaled(l.Const), nil
		}
		if r.isPlain() {
			return l.scaled(r.Const), nil
		}
		return nil, bad(e.Span, "multiply by a plain number", "%s times %s is nothing that can be knitted", l.Kind, r.Kind)
	case '/':
		if !r.isPlain() {
			if l.Kind == r.Kind && len(l.Terms)+len(r.Terms) == 0 && r.Const.Sign() != 0 {
				return &Form{Kind: Plain, Const: new(big.Rat).Quo(l.Const, r.Const)}, nil
			}
			return nil, bad(e.Span, "divide by a plain number", "%s divided by %s is nothing that can be knitted", l.Kind, r.Kind)
		}
		if r.Const.Sign() == 0 {
			return nil, bad(e.R.ExprSpan(), "", "this divides by zero")
		}
		return l.scaled(new(big.Rat).Inv(r.Const)), nil
	}
	return nil, bad(e.Span, "", "%c is not understood here", e.Op)
}

// isPercent says whether an expression is a percentage, or a measure that is one.
func (s *sight) isPercent(e grammar.Expr, depth int) bool {
	if depth > 20 {
		return false
	}
	switch e := e.(type) {
	case *grammar.Lit:
		return e.Value.Unit == grammar.Percent
	case *grammar.Neg:
		return s.isPercent(e.X, depth+1)
	case *grammar.NameRef:
		if t, ok := s.d.names[e.Name.Key]; ok && t.what == "measure" {
			return s.isPercent(s.d.Measures[t.measure].Expr, depth+1)
		}
	case *grammar.Binary:
		return s.isPercent(e.L, depth+1) && s.isPercent(e.R, depth+1)
	}
	return false
}

func (d *Draft) kindOfMeasure(i int) {
	f, err := d.from(d.DraftedSize(0), d.DraftedGauges()).measure(i)
	if err != nil {
		d.report(err, d.Measures[i].Def.Span)
		return
	}
	d.Measures[i].Kind = f.Kind
	if f.Kind != Length && f.Kind != Plain {
		d.errorf(d.Measures[i].Expr.ExprSpan(), "say the fabric: `24 rows in main`", "a measure is a length or a plain number, and this is %s", f.Kind)
	}
}

// report turns an error of an expression into a diagnostic at its own place, or at the place given.
func (d *Draft) report(err error, at grammar.Span) {
	var t *typeError
	var ring *circleError
	if errors.As(err, &ring) {
		t = &ring.typeError
	}
	if t != nil || errors.As(err, &t) {
		for _, x := range d.diags {
			if x.Span == t.at && x.Summary == t.msg {
				return // a measure used by others is reported once
			}
		}
		var related []grammar.Related
		if ring != nil {
			related = ring.related
		}
		d.say(grammar.Error, t.at, t.msg, t.wayOut, related...)
		return
	}
	d.errorf(at, "", "%s", err)
}

// Stated is the drafted length of a number at a target, in centimetres. It is not to be changed.
func (d *Draft) Stated(q *Quantity, t Target) (*big.Rat, error) {
	lo := numAt(q.Value, d.index(q, t.Lo)).Val
	hi := numAt(q.Value, d.index(q, t.Hi)).Val
	x := t.Between(lo, hi)
	if per := cmPer(q.Value.Unit); q.Kind == Length && per != one {
		x = new(big.Rat).Mul(x, per)
	}
	return x, nil
}

// index is which of a value's numbers belongs to size s; `sizes L and XL only` may list just its own.
func (d *Draft) index(q *Quantity, s int) int {
	m := d.File.Marks[q.Mark]
	if len(m.Only) == 0 || len(q.Value.Nums) == len(d.Sizes) {
		return s
	}
	for i, w := range m.Only {
		if t, ok := d.sizeIndex(w.Key); ok && t == s {
			return i
		}
	}
	return 0
}

func (d *Draft) sizeIndex(key string) (int, bool) {
	for i, n := range d.Sizes {
		if grammar.Key(n) == key {
			return i, true
		}
	}
	return 0, false
}
