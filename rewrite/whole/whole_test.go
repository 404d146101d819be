package whole

import (
	"errors"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// source is where a random problem takes its choices from: rapid, or the bytes of a fuzzer.
type source interface{ pick(lo, hi int) int }

type rapidSource struct{ t *rapid.T }

func (r rapidSource) pick(lo, hi int) int { return rapid.IntRange(lo, hi).Draw(r.t, "") }

type bytesSource struct{ b []byte }

func (s *bytesSource) pick(lo, hi int) int {
	if len(s.b) == 0 {
		return lo
	}
	v := int(s.b[0])
	s.b = s.b[1:]
	return lo + v%(hi-lo+1)
}

// smallProblem has boxes that can be tried out value by value.
func smallProblem(s source) *Problem {
	p := &Problem{}
	n := s.pick(1, 5)
	for range n {
		lo := int64(s.pick(-4, 4))
		p.Vars = append(p.Vars, Var{Lo: lo, Hi: lo + int64(s.pick(0, 5)), Hint: int64(s.pick(-6, 9))})
	}
	coef := func() int64 { return int64([]int{1, -1, 1, -1, 2, -2, 3, -5, 4, 7}[s.pick(0, 9)]) }
	terms := func(most int) []Term {
		var ts []Term
		for range s.pick(1, most) {
			ts = append(ts, Term{s.pick(0, n-1), coef()})
		}
		return ts
	}
	for range s.pick(0, 4) {
		r := Rule{Kind: RuleKind(s.pick(0, 2)), Terms: terms(3), Const: int64(s.pick(-8, 8)), Rank: s.pick(0, 2),
			Background: s.pick(0, 7) == 0}
		if r.Kind == Multiple {
			r.Modulus = int64(s.pick(1, 6))
		}
		p.Rules = append(p.Rules, r)
	}
	if n > 1 && s.pick(0, 3) == 0 { // an indicator: D + M·y ≥ 2m, and y² scored
		p.Vars[0].Lo, p.Vars[0].Hi = 0, 1
		p.Rules = append(p.Rules, Rule{Kind: AtLeast, Terms: []Term{{n - 1, 1}, {0, 40}, {n / 2, -2}}})
		p.Scores = append(p.Scores, Score{Terms: []FracTerm{{0, big.NewRat(1, 1)}}})
	}
	for range s.pick(0, n+1) {
		sc := Score{Const: constant(int64(s.pick(-20, 20)), int64(s.pick(1, 4)))}
		for _, t := range terms(3) {
			sc.Terms = append(sc.Terms, FracTerm{t.Var, big.NewRat(t.Coef, int64(s.pick(1, 3)))})
		}
		if s.pick(0, 2) == 0 {
			sc.Weight = big.NewRat(int64(s.pick(0, 16)), int64(s.pick(1, 3)))
		}
		p.Scores = append(p.Scores, sc)
	}
	for range s.pick(0, 2) {
		p.Better = append(p.Better, terms(3))
	}
	return p
}

// prefers says, in the plainest way, whether x comes before y among equal sums.
func prefers(p *Problem, x, y []int64) bool {
	for _, b := range p.Better {
		d := int64(0)
		for _, t := range b {
			d += t.Coef * (x[t.Var] - y[t.Var])
		}
		if d != 0 {
			return d > 0
		}
	}
	for i, v := range p.Vars {
		a, b := x[i]-v.Hint, y[i]-v.Hint
		if a*a != b*b {
			return a*a < b*b
		}
		if a != b {
			return a > b
		}
	}
	return false
}

// tryAll is the independent answer: every value of every box.
func tryAll(p *Problem) (best []int64, sum *big.Rat) {
	x := make([]int64, len(p.Vars))
	var walk func(i int)
	walk = func(i int) {
		if i == len(x) {
			for _, r := range p.Rules {
				v := r.Const
				for _, t := range r.Terms {
					v += t.Coef * x[t.Var]
				}
				if r.Kind == Equal && v != 0 || r.Kind == AtLeast && v < 0 || r.Kind == Multiple && v%r.Modulus != 0 {
					return
				}
			}
			s := new(big.Rat)
			for _, sc := range p.Scores {
				v := new(big.Rat)
				v.Set(sc.Const.rat())
				for _, t := range sc.Terms {
					v.Add(v, new(big.Rat).Mul(t.Coef, new(big.Rat).SetInt64(x[t.Var])))
				}
				v.Mul(v, v)
				if sc.Weight != nil {
					v.Mul(v, sc.Weight)
				}
				s.Add(s, v)
			}
			if d := 1; sum != nil {
				if d = s.Cmp(sum); d > 0 || d == 0 && !prefers(p, x, best) {
					return
				}
			}
			best, sum = slices.Clone(x), s
			return
		}
		for v := p.Vars[i].Lo; v <= p.Vars[i].Hi; v++ {
			x[i] = v
			walk(i + 1)
		}
	}
	walk(0)
	return best, sum
}

type failer interface {
	Helper()
	Fatalf(string, ...any)
}

// agree checks Solve against trying all values, and a contradiction for being one and for having nothing to spare.
func agree(t failer, p *Problem, e effort) {
	t.Helper()
	x, sum := tryAll(p)
	agreeWith(t, p, e, x, sum)
	e.lattice = true
	agreeWith(t, p, e, x, sum)
}

func agreeWith(t failer, p *Problem, e effort, x []int64, sum *big.Rat) {
	t.Helper()
	a, err := p.solve(e)
	var c *Contradiction
	switch {
	case errors.As(err, &c):
		if x != nil {
			t.Fatalf("contradiction %v, but %v satisfies the rules\n%+v", c.Rules, x, p)
		}
		only := func(named []int) *Problem {
			q := &Problem{Vars: p.Vars}
			for i, r := range p.Rules {
				if r.Background || slices.Contains(named, i) {
					q.Rules = append(q.Rules, r)
				}
			}
			return q
		}
		if x, _ := tryAll(only(c.Rules)); x != nil {
			t.Fatalf("the rules %v do not contradict each other: %v\n%+v", c.Rules, x, p)
		}
		for i, r := range c.Rules {
			if p.Rules[r].Background {
				t.Fatalf("background rule %d named", r)
			}
			if x, _ := tryAll(only(slices.Delete(slices.Clone(c.Rules), i, i+1))); x == nil {
				t.Fatalf("rule %d of %v can be left out\n%+v", r, c.Rules, p)
			}
		}
		if !c.Smallest || !slices.IsSorted(c.Rules) {
			t.Fatalf("%+v", c)
		}
	case err != nil:
		t.Fatalf("%v\n%+v", err, p)
	case x == nil:
		t.Fatalf("answer %v where nothing satisfies the rules\n%+v", a.X, p)
	default:
		if a.Sum().Cmp(sum) != 0 || !slices.Equal(a.X, x) {
			t.Fatalf("got %v with sum %v, want %v with sum %v\n%+v", a.X, a.Sum(), x, sum, p)
		}
		if !a.Proven || a.Bound().Cmp(a.Sum()) != 0 {
			t.Fatalf("not proven: %+v", a)
		}
		if r, ok := p.Satisfies(a.X); !ok {
			t.Fatalf("rule %d broken by %v", r, a.X)
		}
		if p.Sum(a.X).Cmp(sum) != 0 {
			t.Fatalf("Sum is %v, want %v", p.Sum(a.X), sum)
		}
	}
}

func TestAgainstTryingAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { agree(t, smallProblem(rapidSource{t}), usual(0)) })
}

// The ways that only hard problems take, taken at once.
func TestAgainstTryingAllImpatiently(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := smallProblem(rapidSource{t})
		agree(t, p, effort{budget: Budget, attempt: rapid.IntRange(1, 6).Draw(t, "attempt"), relaxAfter: rapid.IntRange(0, 3).Draw(t, "relax")})
	})
}

// Scores, boxes and hints symmetric about 0, so that nearly every sum has its equals.
func TestEqualSums(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapidSource{t}
		n := s.pick(1, 4)
		p := &Problem{}
		for range n {
			p.Vars = append(p.Vars, Var{Lo: -3, Hi: 3})
		}
		terms := func() (ts []Term) {
			for i := range n {
				if k := s.pick(-2, 2); k != 0 {
					ts = append(ts, Term{i, int64(k)})
				}
			}
			return ts
		}
		for range s.pick(1, n) {
			var sc Score
			for _, m := range terms() {
				sc.Terms = append(sc.Terms, FracTerm{m.Var, big.NewRat(m.Coef, 1)})
			}
			p.Scores = append(p.Scores, sc)
		}
		for range s.pick(1, 2) {
			p.Rules = append(p.Rules, Rule{Kind: Multiple, Terms: terms(), Const: int64(s.pick(0, 1)), Modulus: int64(s.pick(2, 3))})
		}
		for range s.pick(0, 2) {
			p.Better = append(p.Better, terms())
		}
		agree(t, p, effort{budget: Budget, attempt: s.pick(1, 40), relaxAfter: 20})
	})
}

func FuzzAgainstTryingAll(f *testing.F) {
	f.Add([]byte("a"))
	f.Add([]byte{4, 0, 5, 3, 1, 5, 4, 2, 5, 5, 3, 5, 1, 2, 0, 2, 1, 0, 2, 1, 5, 0, 1, 1, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13})
	f.Fuzz(func(t *testing.T, b []byte) { agree(t, smallProblem(&bytesSource{b}), usual(0)) })
}
