package whole

import (
	"errors"
	"fmt"
	"io"
	"math"
	"math/big"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func one(v int) []FracTerm { return []FracTerm{{v, big.NewRat(1, 1)}} }

func box(n int, lo, hi int64) []Var {
	vars := make([]Var, n)
	for i := range vars {
		vars[i] = Var{Lo: lo, Hi: hi}
	}
	return vars
}

// Deep holes of well-known lattices (Conway & Sloane, Sphere Packings, Lattices and Groups, ch. 4; from memory): the points
// farthest from the lattice, whose distance is the covering radius.
func TestDeepHoles(t *testing.T) {
	checkerboard := func(n int, hole *big.Rat) *Problem { // D_n: whole coordinates with an even sum
		p := &Problem{Vars: box(n, -1000, 1000), Rules: []Rule{{Kind: Multiple, Modulus: 2}}}
		for i := range n {
			p.Rules[0].Terms = append(p.Rules[0].Terms, Term{i, 1})
			p.Scores = append(p.Scores, Score{Terms: one(i), Const: constantOf(hole)})
		}
		return p
	}
	e8 := func(hole []*big.Rat) *Problem { // in halves: all even or all odd, the sum a multiple of 4
		p := &Problem{Vars: box(8, -1000, 1000)}
		sum := Rule{Kind: Multiple, Modulus: 4}
		for i := range 8 {
			sum.Terms = append(sum.Terms, Term{i, 1})
			if i > 0 {
				p.Rules = append(p.Rules, Rule{Kind: Multiple, Modulus: 2, Terms: []Term{{i, 1}, {0, -1}}})
			}
			p.Scores = append(p.Scores, Score{Terms: []FracTerm{{i, big.NewRat(1, 2)}}, Const: constantOf(hole[i])})
		}
		p.Rules = append(p.Rules, sum)
		return p
	}
	hole := make([]*big.Rat, 8)
	for i := range hole {
		hole[i] = new(big.Rat)
	}
	hole[0] = big.NewRat(-1, 1)
	sixth := make([]*big.Rat, 8)
	for i := range sixth {
		sixth[i] = big.NewRat(-1, 6)
	}
	sixth[0] = big.NewRat(-5, 6)
	hexagon := &Problem{Vars: box(2, -50, 50), Scores: []Score{ // A_2: x² + xy + y² about (1/3, 1/3)
		{Terms: []FracTerm{{0, big.NewRat(1, 1)}, {1, big.NewRat(1, 2)}}, Const: constant(-1, 2)},
		{Terms: one(1), Const: constant(-1, 3), Weight: big.NewRat(3, 4)},
	}}
	for _, c := range []struct {
		name string
		p    *Problem
		want *big.Rat
	}{
		{"A2", hexagon, big.NewRat(1, 3)},
		{"D4", checkerboard(4, big.NewRat(-1, 2)), big.NewRat(1, 1)},
		{"D10", checkerboard(10, big.NewRat(-1, 2)), big.NewRat(10, 4)},
		{"D16", checkerboard(16, big.NewRat(-1, 2)), big.NewRat(16, 4)},
		{"E8", e8(hole), big.NewRat(1, 1)},
		{"E8 shallow", e8(sixth), big.NewRat(8, 9)},
	} {
		a, err := c.p.Solve(0)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if a.Sum().Cmp(c.want) != 0 || !a.Proven {
			t.Errorf("%s: distance² %v, want %v (proven %v)", c.name, a.Sum(), c.want, a.Proven)
		}
	}
}

// A lattice of all whole points in a basis so skew that a search in it would be endless.
func TestSkewBasis(t *testing.T) {
	const n = 10
	r := rand.New(rand.NewPCG(1, 2))
	m := make([][]int64, n)
	for i := range m {
		m[i] = make([]int64, n)
		m[i][i] = 1
	}
	for range 60 {
		i, j := r.IntN(n), r.IntN(n)
		if i == j {
			continue
		}
		q := r.Int64N(7) - 3
		for k := range n {
			m[i][k] += q * m[j][k]
		}
	}
	p := &Problem{Vars: box(n, -1e9, 1e9)}
	want := make([]int64, n)
	sum := new(big.Rat)
	for i := range want {
		want[i] = r.Int64N(2000) - 1000
	}
	for i := range n {
		s := Score{}
		v := int64(0)
		for k := range n {
			s.Terms = append(s.Terms, FracTerm{k, big.NewRat(m[i][k], 1)})
			v += m[i][k] * want[k]
		}
		off := big.NewRat(r.Int64N(9)-4, 10) // nearer than 1/2 in every direction
		s.Const = constantOf(new(big.Rat).Sub(off, big.NewRat(v, 1)))
		sum.Add(sum, off.Mul(off, off))
		p.Scores = append(p.Scores, s)
	}
	a, err := p.Solve(0)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(a.X, want) || a.Sum().Cmp(sum) != 0 || !a.Proven || a.Nodes > 100 {
		t.Errorf("%v with %v after %d nodes, want %v with %v", a.X, a.Sum(), a.Nodes, want, sum)
	}
}

// The same problem far from 0 and with huge coefficients and weights has the same answer, as far as it is not refused.
func TestFarAndLarge(t *testing.T) {
	answered := 0
	rapid.Check(t, func(t *rapid.T) {
		p := smallProblem(rapidSource{t})
		shift := rapid.SampledFrom([]int64{0, 1 << 20, -1 << 40, 1 << 55, -(1 << 60), 1 << 62}).Draw(t, "shift")
		times := rapid.SampledFrom([]int64{1, 1 << 10, 1 << 33}).Draw(t, "times")
		scale := rapid.SampledFrom([]string{"1", "1000000000000", "1/3000000000", "1e30"}).Draw(t, "scale")
		by, _ := new(big.Rat).SetString(scale)
		far := &Problem{Better: p.Better}
		for _, v := range p.Vars {
			far.Vars = append(far.Vars, Var{Lo: v.Lo + shift, Hi: v.Hi + shift, Hint: v.Hint + shift})
		}
		for _, r := range p.Rules {
			c := big.NewInt(r.Const)
			terms := []Term{}
			for _, m := range r.Terms {
				c.Sub(c, new(big.Int).Mul(big.NewInt(m.Coef), big.NewInt(shift)))
				terms = append(terms, Term{m.Var, m.Coef * times})
			}
			c.Mul(c, big.NewInt(times))
			if !c.IsInt64() {
				return
			}
			r.Terms, r.Const, r.Modulus = terms, c.Int64(), r.Modulus*times
			far.Rules = append(far.Rules, r)
		}
		for _, s := range p.Scores {
			c := new(big.Rat)
			c.Set(s.Const.rat())
			f := Score{Weight: s.Weight}
			for _, m := range s.Terms {
				c.Sub(c, new(big.Rat).Mul(m.Coef, big.NewRat(shift, 1)))
				f.Terms = append(f.Terms, FracTerm{m.Var, new(big.Rat).Mul(m.Coef, by)})
			}
			f.Const = constantOf(c.Mul(c, by))
			far.Scores = append(far.Scores, f)
		}
		a, err := p.Solve(0)
		b, farErr := far.Solve(0)
		var large *TooLarge
		var undecided *Undecided
		if errors.As(farErr, &large) || errors.As(farErr, &undecided) {
			return // refused, or out of the range of what narrowing looks at
		}
		if err != nil || farErr != nil {
			if !reflect.DeepEqual(err, farErr) {
				t.Fatalf("%v near, %v far", err, farErr)
			}
			return
		}
		answered++
		for i := range a.X {
			if a.X[i]+shift != b.X[i] {
				t.Fatalf("%v near, %v at %d", a.X, b.X, shift)
			}
		}
		want := new(big.Rat).Mul(a.Sum(), new(big.Rat).Mul(by, by))
		if want.Cmp(b.Sum()) != 0 || !b.Proven {
			t.Fatalf("sum %v, want %v, proven %v", b.Sum(), want, b.Proven)
		}
	})
	if answered == 0 {
		t.Error("all refused")
	}
}

// Problems built around values that satisfy them, with numbers of any size: no contradiction may be claimed, no bound may be
// above the sum of those values, and a proven answer may not be worse.
func TestNoLieAboutExtremes(t *testing.T) {
	answered, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.Int64Range(-9, 9), rapid.Int64Range(-9, 9), rapid.Int64Range(-1<<31, 1<<31), rapid.Int64())
		n := rapid.IntRange(1, 6).Draw(t, "n")
		p := &Problem{}
		at := make([]int64, n)
		for i := range at {
			at[i] = number.Draw(t, "at")
			lo, hi := number.Draw(t, "lo"), number.Draw(t, "hi")
			p.Vars = append(p.Vars, Var{Lo: min(lo, at[i]), Hi: max(hi, at[i]), Hint: number.Draw(t, "hint")})
		}
		for range rapid.IntRange(0, 4).Draw(t, "rules") {
			r := Rule{Kind: RuleKind(rapid.IntRange(0, 2).Draw(t, "kind")), Modulus: max(1, number.Draw(t, "modulus"))}
			for range rapid.IntRange(1, 3).Draw(t, "terms") {
				r.Terms = append(r.Terms, Term{rapid.IntRange(0, n-1).Draw(t, "var"), number.Draw(t, "coef")})
			}
			v := bigLinear(r.Terms, 0, at)
			v.Neg(v)
			if r.Kind == AtLeast {
				v.Add(v, big.NewInt(rapid.Int64Range(0, 1000).Draw(t, "room")))
			}
			if !v.IsInt64() {
				continue
			}
			r.Const = v.Int64()
			p.Rules = append(p.Rules, r)
		}
		for range rapid.IntRange(0, n+1).Draw(t, "scores") {
			s := Score{Const: constant(number.Draw(t, "const"), max(1, number.Draw(t, "denominator")))}
			for range rapid.IntRange(1, 3).Draw(t, "terms") {
				s.Terms = append(s.Terms, FracTerm{rapid.IntRange(0, n-1).Draw(t, "var"),
					big.NewRat(number.Draw(t, "coef"), max(1, number.Draw(t, "denominator")))})
			}
			p.Scores = append(p.Scores, s)
		}
		if r, ok := p.Satisfies(at); !ok {
			t.Fatalf("the values break rule %d", r)
		}
		a, err := p.Solve(300)
		var c *Contradiction
		if errors.As(err, &c) {
			t.Fatalf("%v, but %v satisfies them\n%+v", err, at, p)
		}
		if err != nil {
			refused++
			return
		}
		answered++
		if r, ok := p.Satisfies(a.X); !ok {
			t.Fatalf("rule %d broken by %v", r, a.X)
		}
		there := p.Sum(at)
		if a.Sum().Cmp(p.Sum(a.X)) != 0 || a.Bound().Cmp(there) > 0 || a.Bound().Cmp(a.Sum()) > 0 || a.Proven && a.Sum().Cmp(there) > 0 {
			t.Fatalf("%+v, but %v has %v\n%+v", a, at, there, p)
		}
	})
	if answered == 0 {
		t.Errorf("%d refused, none answered", refused)
	}
}

func TestBudget(t *testing.T) {
	p := pullover(6, 17, 23)
	best, err := p.Solve(0)
	if err != nil || !best.Proven {
		t.Fatal(err)
	}
	partial := 0
	for budget := 1; budget < best.Nodes; budget += 1 + budget/8 {
		a, err := p.Solve(budget)
		var u *Undecided
		if errors.As(err, &u) {
			if u.Nodes > budget {
				t.Fatalf("%d nodes with a budget of %d", u.Nodes, budget)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if a.Nodes > budget || a.Sum().Cmp(best.Sum()) < 0 || a.Bound().Cmp(best.Sum()) > 0 || a.Bound().Sign() < 0 {
			t.Fatalf("budget %d: %+v, best %v", budget, a, best.Sum())
		}
		if a.Proven && !slices.Equal(a.X, best.X) {
			t.Fatalf("budget %d: proves %v, best is %v", budget, a.X, best.X)
		}
		if !a.Proven {
			partial++
		}
	}
	if partial == 0 {
		t.Error("no budget was too small")
	}
}

func TestSameTwice(t *testing.T) {
	for _, edges := range []int{2, 5, 8} {
		for _, budget := range []int{100, 0} {
			a, err := pullover(edges, 19, 27).Solve(budget)
			b, err2 := pullover(edges, 19, 27).Solve(budget)
			if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(err, err2) {
				t.Errorf("%+v, then %+v", a, b)
			}
		}
	}
}

// Whole garments at many gauges, each within a budget far below the usual one.
func TestGaugesAreProven(t *testing.T) {
	worst := 0
	for sts := int64(10); sts <= 40; sts += 3 {
		for _, edges := range []int{1, 3, 5, 8} {
			p := pullover(edges, sts, sts*4/3+1)
			a, err := p.Solve(20_000)
			if err != nil || !a.Proven {
				t.Errorf("%d edges at %d sts: %v %+v", edges, sts, err, a)
				continue
			}
			worst = max(worst, a.Nodes)
			if r, ok := p.Satisfies(a.X); !ok {
				t.Errorf("rule %d broken", r)
			}
		}
	}
	t.Logf("at most %d nodes", worst)
}

func TestContradictionKeepsPinsLast(t *testing.T) {
	x := []Term{{0, 1}}
	atMost := func(n int64) Rule { return Rule{Kind: AtLeast, Terms: []Term{{0, -1}}, Const: n} }
	p := &Problem{
		Vars: box(1, 0, 100),
		Rules: []Rule{
			{Kind: Equal, Terms: x, Const: -30, Rank: 1}, // a pin
			atMost(20),
			{Kind: AtLeast, Terms: x, Background: true},
			atMost(10),
			{Kind: Multiple, Terms: x, Modulus: 2},
		},
	}
	_, err := p.Solve(0)
	var c *Contradiction
	if !errors.As(err, &c) || !slices.Equal(c.Rules, []int{0, 3}) || !c.Smallest {
		t.Errorf("%v, want rules 0 and 3", err)
	}
	p.Rules[1].Rank = 2
	if _, err = p.Solve(0); !errors.As(err, &c) || !slices.Equal(c.Rules, []int{0, 1}) {
		t.Errorf("%v, want rules 0 and 1", err)
	}
}

// Contradictions that only fractions, only whole numbers, or only trying can find.
func TestProofsOfContradiction(t *testing.T) {
	ring := &Problem{Vars: box(12, -1e9, 1e9)} // x0 > x1 > … > x11 > x0: narrowing alone would take for ever
	for i := range 12 {
		ring.Rules = append(ring.Rules, Rule{Kind: AtLeast, Terms: []Term{{i, 1}, {(i + 1) % 12, -1}}, Const: -1})
	}
	parity := &Problem{Vars: box(3, -1e9, 1e9), Rules: []Rule{
		{Kind: Equal, Terms: []Term{{0, 6}, {1, 10}, {2, -14}}, Const: -7}}}
	thin := &Problem{Vars: box(2, -1000, 1000), Rules: []Rule{ // from 1 to 4, and a multiple of 5
		{Kind: AtLeast, Terms: []Term{{0, 3}, {1, 2}}, Const: -1},
		{Kind: AtLeast, Terms: []Term{{0, -3}, {1, -2}}, Const: 4},
		{Kind: Multiple, Terms: []Term{{0, 3}, {1, 2}}, Modulus: 5}}}
	for name, c := range map[string]struct {
		p    *Problem
		want []int
	}{
		"ring":   {ring, []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}},
		"parity": {parity, []int{0}},
		"thin":   {thin, []int{0, 1, 2}},
	} {
		_, err := c.p.Solve(0)
		var got *Contradiction
		if !errors.As(err, &got) || !slices.Equal(got.Rules, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
	}
}

func TestMalformed(t *testing.T) {
	for name, p := range map[string]*Problem{
		"rule index":  {Vars: box(1, 0, 1), Rules: []Rule{{Terms: []Term{{1, 1}}}}},
		"negative":    {Vars: box(1, 0, 1), Rules: []Rule{{Terms: []Term{{-1, 1}}}}},
		"kind":        {Rules: []Rule{{Kind: 3}}},
		"modulus":     {Rules: []Rule{{Kind: Multiple}}},
		"score index": {Scores: []Score{{Terms: one(0)}}},
		"coefficient": {Vars: box(1, 0, 1), Scores: []Score{{Terms: []FracTerm{{Var: 0}}}}},
		"weight":      {Scores: []Score{{Weight: big.NewRat(-1, 1)}}},
		"tie-break":   {Better: [][]Term{{{0, 1}}}},
	} {
		var m *Malformed
		if _, err := p.Solve(0); !errors.As(err, &m) || m.Error() == "" {
			t.Errorf("%s: %v", name, err)
		}
		if err := p.WriteLP(io.Discard, nil); !errors.As(err, &m) {
			t.Errorf("%s: WriteLP: %v", name, err)
		}
		if p.Sum(make([]int64, len(p.Vars))) != nil {
			t.Errorf("%s has a sum", name)
		}
		if _, ok := p.Satisfies(make([]int64, len(p.Vars))); ok {
			t.Errorf("%s is satisfied", name)
		}
	}
	var l *TooLarge
	p := &Problem{Vars: box(MaxFree+1, 0, 9)}
	for i := range p.Vars {
		p.Rules = append(p.Rules, Rule{Kind: AtLeast, Terms: []Term{{0, 1}, {i, 1}}})
	}
	if _, err := p.Solve(0); !errors.As(err, &l) || l.Error() == "" {
		t.Error(err)
	}
}

func TestNothingToDo(t *testing.T) {
	a, err := (&Problem{}).Solve(0)
	if err != nil || len(a.X) != 0 || a.Sum().Sign() != 0 || !a.Proven {
		t.Errorf("%+v %v", a, err)
	}
	p := &Problem{
		Vars:   []Var{{Lo: math.MinInt64, Hi: math.MaxInt64, Hint: 7}, {Lo: 3, Hi: 9, Hint: 100}, {Lo: 1, Hi: 6}},
		Better: [][]Term{{{2, 1}}},
		Scores: []Score{{Const: constant(3, 2), Weight: big.NewRat(2, 1)}},
	}
	a, err = p.Solve(0)
	if err != nil || !slices.Equal(a.X, []int64{7, 9, 6}) || a.Sum().Cmp(big.NewRat(9, 2)) != 0 {
		t.Errorf("%+v %v", a, err)
	}
	var c *Contradiction
	if _, err = (&Problem{Vars: box(1, 2, 1)}).Solve(0); !errors.As(err, &c) || len(c.Rules) != 0 {
		t.Errorf("empty box: %v", err)
	}
}

func TestWriteLP(t *testing.T) {
	p := &Problem{
		Vars: []Var{{Lo: 0, Hi: 9, Name: "cast on"}, {Lo: -3, Hi: 3, Name: "Ärmel"}},
		Rules: []Rule{
			{Kind: Equal, Terms: []Term{{0, 1}, {1, -2}}, Const: -3},
			{Kind: AtLeast, Terms: []Term{{1, 1}}, Const: 2},
			{Kind: Multiple, Terms: []Term{{0, 1}}, Const: 1, Modulus: 4},
		},
		Scores: []Score{{Terms: []FracTerm{{0, big.NewRat(2, 3)}}, Const: constant(-5, 1)}},
	}
	var b strings.Builder
	if err := p.WriteLP(&b, []int64{7, 2}); err != nil {
		t.Fatal(err)
	}
	// (2/3·x − 5)² = 4/9·(x − 15/2)² = 1/9·(2x − 15)²; at 7 that is 1/9, so only 7 and 8 come in question: with what rounding adds, 5 to 9.
	want := ` sum:
 + 0.44444444444444442 s_0
Subject To
 in_0: x0_cast_on >= 0
 in_1: x1__rmel >= -3
 r_0: + 1 x0_cast_on - 2 x1__rmel = 3
 r_1: + 1 x1__rmel >= -2
 r_2: + 1 x0_cast_on - 4 m_2 = -1
 v_0_is: + 1 x0_cast_on - v_0 = 0
 c_0_0: s_0 + 4 v_0 >= 26.25
`
	if got := b.String(); !strings.Contains(got, want) {
		t.Errorf("got\n%s\nwant in it\n%s", got, want)
	}
	if err := p.WriteLP(&b, []int64{7, 3}); err == nil {
		t.Error("values that break a rule were taken")
	}
	if err := p.WriteLP(failing{}, nil); err == nil || err.Error() != "full" {
		t.Error(err)
	}
	p.Vars[0].Hi = 1e9
	var l *TooLarge
	if err := p.WriteLP(io.Discard, nil); !errors.As(err, &l) {
		t.Error(err)
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, fmt.Errorf("full") }
