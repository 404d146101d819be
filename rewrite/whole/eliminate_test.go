package whole

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Chains of shaping too large to try out: elimination and the search by lattice are two programs with nothing in common but the
// problem, and must find the same.
func TestEliminationAgainstLattice(t *testing.T) {
	eliminated := 0
	rapid.Check(t, func(t *rapid.T) {
		p := pullover(rapid.IntRange(1, 5).Draw(t, "edges"), rapid.Int64Range(11, 37).Draw(t, "sts"), rapid.Int64Range(13, 49).Draw(t, "rows"))
		for _, g := range p.groups(p.every()) {
			pt, err := p.part(g, false, &memory{sums: map[pair]int{}})
			if err != nil {
				t.Fatal(err)
			}
			pt.approach()
			if pt.eliminated(Budget) != nil {
				eliminated++
			}
		}
		e := usual(0)
		a, err := p.solve(e)
		e.lattice = true
		b, err2 := p.solve(e)
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if a.Proven && b.Proven && (!slices.Equal(a.X, b.X) || a.Sum().Cmp(b.Sum()) != 0) || a.Sum().Cmp(b.Bound()) < 0 || b.Sum().Cmp(a.Bound()) < 0 {
			t.Fatalf("%v with %v, by lattice %v with %v", a.X, a.Sum(), b.X, b.Sum())
		}
	})
	if eliminated == 0 {
		t.Error("nothing was eliminated")
	}
}

// A sum that is larger than any limit tried at first, and numbers beyond 64 bits on the way.
func TestEliminationFarFromWishes(t *testing.T) {
	for _, far := range []int64{1 << 10, 1 << 30, 1 << 40} {
		p := &Problem{Vars: []Var{{Lo: 0, Hi: 9}, {Lo: 0, Hi: 9}, {Lo: 0, Hi: 9}}}
		p.Rules = []Rule{{Kind: Equal, Terms: []Term{{0, 1}, {1, 1}, {2, -1}}}, {Kind: Multiple, Terms: []Term{{0, 1}}, Modulus: 3}}
		for i := range p.Vars {
			p.Scores = append(p.Scores, Score{Terms: []FracTerm{{i, frac(1, 7)}}, Const: constant(-far, 3), Weight: frac(far, 5)})
		}
		x, sum := tryAll(p)
		a, err := p.Solve(0)
		if err != nil || !slices.Equal(a.X, x) || a.Sum().Cmp(sum) != 0 || !a.Proven {
			t.Errorf("far %d: %+v %v, want %v with %v", far, a, err, x, sum)
		}
	}
}

// One unknown with one score, halves and tie-breaks among them, against trying every number.
func TestAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(name string, of int64) int64 { return rapid.Int64Range(-of, of).Draw(t, name) }
		lo := number("lo", 9)
		p := &Problem{Vars: []Var{{Lo: lo, Hi: lo + rapid.Int64Range(0, 9).Draw(t, "wide"), Hint: number("hint", 12)}}}
		p.Scores = []Score{{Terms: []FracTerm{{0, frac(number("coef", 3), 2)}}, Const: constant(number("const", 30), 4), Weight: frac(rapid.Int64Range(0, 3).Draw(t, "weight"), 1)}}
		for range rapid.IntRange(0, 2).Draw(t, "better") {
			p.Better = append(p.Better, []Term{{0, number("prefers", 1)}})
		}
		x, sum := tryAll(p)
		a, err := p.Solve(0)
		if err != nil || !slices.Equal(a.X, x) || a.Sum().Cmp(sum) != 0 || a.Bound().Cmp(sum) != 0 || !a.Proven {
			t.Fatalf("%+v: %v %v, want %v with %v", p, a, err, x, sum)
		}
	})
}
