// Package whole finds the whole numbers that come closest to what is wished for.
//
// A [Problem] has unknowns that are whole numbers in a box, rules that must hold exactly (equations, inequalities,
// congruences) and scores: weighted squares of linear combinations, whose sum is to be as small as possible. [Problem.Solve]
// returns the smallest sum there is, with a proof by exhaustion, or says which rules contradict each other.
//
// This is the closest vector problem of a small lattice under a few inequalities. The way taken, part by part:
//
//  1. Unknowns that no rule and no score joins are separate problems (part.go).
//     One that has a score and no rule can only be one of two numbers (alone.go).
//  2. Boxes are narrowed by the rules until nothing moves (narrow.go).
//  3. Where the unknowns hang together loosely they are eliminated one after the other, each by a table of its best values, within
//     a limit on the sum that is raised until something is found (eliminate.go, tables.go). That settles nearly all parts of a
//     garment. The rest of the list is for those whose tables would grow too large.
//  4. Equations, and congruences as equations with a multiplier, are eliminated over the integers as in the computation of a
//     Hermite normal form; what is left is a lattice, whose basis is reduced in the metric of the scores (lattice.go).
//  5. The sum is written as squares of one unknown after the other. Where its real minimum breaks inequalities, they are
//     priced in with multipliers, which moves the centre to where the inequalities allow it (centre.go).
//  6. Depth-first enumeration, nearest value first, cut by the sum of the squares so far and by narrowing. Where that takes long,
//     the part is split by its switches, unknowns that can only be one of two numbers (search.go, hunt.go); the tie-break is in
//     choose.go.
//  7. If no values are found, a relaxation may prove that there are none (relax.go), and rules are left out one after the other
//     until those are left that contradict each other (contradict.go).
//
// Floating point only ever cuts branches, with a margin that covers its rounding; sums are compared as whole numbers of
// unlimited size. Integers that leave 64 bits are noticed: bounds then count as unknown, sums continue as big.Int, and a lattice
// that does not fit is refused with [TooLarge].
//
// Branch and bound over real relaxations finds the same answers with a thousand times the work; constraint solvers cannot bound
// a quadratic sum.
package whole

import (
	"fmt"
	"math/big"
)

// Budget is the number of nodes (values tried for one unknown) that [Problem.Solve] spends on each independent part unless told
// otherwise; what is tried in vain for tables that grow too large, as much again at most, is not among them. Counted, not timed, so that an answer never depends on the machine.
const Budget = 200_000

// Term is Coef times the unknown with index Var.
type Term struct {
	Var  int
	Coef int64
}

// RuleKind says how a rule's left side, Σ Coef·x + Const, is compared.
type RuleKind int

const (
	Equal    RuleKind = iota // Σ Coef·x + Const = 0
	AtLeast                  // Σ Coef·x + Const ≥ 0
	Multiple                 // Σ Coef·x + Const is a multiple of Modulus
)

// Rule must hold exactly in every answer.
type Rule struct {
	Kind    RuleKind
	Terms   []Term
	Const   int64
	Modulus int64 // of a Multiple, at least 1

	// Rank orders the search for a smallest contradicting set: rules of lower rank are tried for leaving out first, so that
	// rules of higher rank (pins) tend to be among those named.
	Rank int
	// Background rules (trivial bounds) always hold and are never named in a contradiction.
	Background bool
}

// FracTerm is Coef times the unknown with index Var. Coef must not be nil.
type FracTerm struct {
	Var  int
	Coef *big.Rat
}

// Score adds Weight·(Σ Coef·x + Const)² to the sum. Weight must not be negative. A nil Weight is 1.
type Score struct {
	Terms  []FracTerm
	Const  Constant
	Weight *big.Rat
}

// Constant is an exact fraction, Num/Den in lowest terms with Den > 0, or Big where that is not nil; the zero value is 0. Every
// score has one of its own, so it costs no memory where it is small.
type Constant struct {
	Num, Den int64
	Big      *big.Rat
}

func (c Constant) rat() *big.Rat {
	if c.Big != nil {
		return c.Big
	}
	return big.NewRat(c.Num, max(c.Den, 1))
}

// Var is an unknown: a whole number from Lo to Hi, both included (beyond ±2⁶¹ they are checked but do not help the search). Hint decides what scores and tie-breaks leave open; it need
// not lie in the box.
type Var struct {
	Lo, Hi, Hint int64
	Name         string
}

// Problem asks for the whole numbers that satisfy every rule with the smallest sum of scores.
//
// Of answers with equal sums the one is taken for which the first of Better is largest, then the second, and so on; then, going
// through the unknowns in their order, the one nearer to its Hint, and at equal distance the larger. So there is always exactly
// one answer.
type Problem struct {
	Vars   []Var
	Rules  []Rule
	Scores []Score
	Better [][]Term
}

// Answer holds one value for each unknown.
type Answer struct {
	X []int64
	// Proven says that no other values have a smaller sum, nor an equal one that the tie-break prefers.
	Proven bool
	Nodes  int // values tried, over all parts

	constant *big.Rat // what no unknown changes of the sum
	parts    []finding
}

// Sum is that of the scores, exact.
func (a *Answer) Sum() *big.Rat {
	sum := new(big.Rat).Set(a.constant)
	for i := range a.parts {
		sum.Add(sum, a.parts[i].sum.rat())
	}
	return sum
}

// Bound is a number that no sum can be below. It is Sum if Proven.
func (a *Answer) Bound() *big.Rat {
	bound := new(big.Rat).Set(a.constant)
	for i := range a.parts {
		bound.Add(bound, a.parts[i].bound.rat())
	}
	return bound
}

// Contradiction is the error when nothing satisfies the rules. Rules holds the indices, ascending, of a set of rules that cannot
// hold together within the boxes and the background rules, and of which none can be left out. It is empty if the boxes and the
// background rules alone contradict each other.
type Contradiction struct {
	Rules []int
	// Smallest is false if a check ran out of its budget, so that some rule might still be left out.
	Smallest bool
}

func (c *Contradiction) Error() string {
	if len(c.Rules) == 0 {
		return "the bounds of the unknowns contradict each other"
	}
	return fmt.Sprintf("rules %v cannot hold together", c.Rules)
}

// Undecided is the error when the budget was spent before any values were found that satisfy the rules, nor a proof that there
// are none.
type Undecided struct{ Nodes int }

func (u *Undecided) Error() string {
	return fmt.Sprintf("no values found that satisfy the rules, after trying %d", u.Nodes)
}

// TooLarge is the error for a problem whose coefficients do not fit, after elimination, in 64 bits, or that is larger than
// [MaxJoined] and [MaxFree] allow. No answer is better than a wrong one.
type TooLarge struct{ Why string }

func (t *TooLarge) Error() string { return t.Why }

// Malformed is the error for a problem that does not say what it means: an index out of range, a modulus below 1, a negative
// weight.
type Malformed struct{ Why string }

func (m *Malformed) Error() string { return m.Why }

// MaxJoined is the largest number of unknowns, of rules and of scores that one part (joined by rules or scores) may have, MaxFree
// that of the unknowns that its equations leave free. A garment has 15 as a rule and 30 at most; the work to set up a part grows
// with the fourth power of their number.
const (
	MaxJoined = 1000
	MaxFree   = 100
)

func (p *Problem) check() error {
	n := len(p.Vars)
	terms := func(what string, i int, ts []Term) error {
		for _, t := range ts {
			if t.Var < 0 || t.Var >= n {
				return &Malformed{fmt.Sprintf("%s %d has no unknown %d", what, i, t.Var)}
			}
		}
		return nil
	}
	for i, r := range p.Rules {
		if err := terms("rule", i, r.Terms); err != nil {
			return err
		}
		if r.Kind < Equal || r.Kind > Multiple {
			return &Malformed{fmt.Sprintf("rule %d is of no known kind", i)}
		}
		if r.Kind == Multiple && r.Modulus < 1 {
			return &Malformed{fmt.Sprintf("rule %d has the modulus %d", i, r.Modulus)}
		}
	}
	for i, s := range p.Scores {
		for _, t := range s.Terms {
			if t.Var < 0 || t.Var >= n {
				return &Malformed{fmt.Sprintf("score %d has no unknown %d", i, t.Var)}
			}
			if t.Coef == nil {
				return &Malformed{fmt.Sprintf("score %d lacks a coefficient", i)}
			}
		}
		if s.Weight != nil && s.Weight.Sign() < 0 {
			return &Malformed{fmt.Sprintf("score %d has a negative weight", i)}
		}
	}
	for i, b := range p.Better {
		if err := terms("tie-break", i, b); err != nil {
			return err
		}
	}
	return nil
}

// Sum returns the exact sum of the scores at x, which must have a value for each unknown; else the result is nil.
func (p *Problem) Sum(x []int64) *big.Rat {
	if len(x) != len(p.Vars) || p.check() != nil {
		return nil
	}
	sum, v, t := new(big.Rat), new(big.Rat), new(big.Rat)
	for _, s := range p.Scores {
		v.Set(s.Const.rat())
		for _, ft := range s.Terms {
			t.SetInt64(x[ft.Var])
			v.Add(v, t.Mul(t, ft.Coef))
		}
		v.Mul(v, v)
		if s.Weight != nil {
			v.Mul(v, s.Weight)
		}
		sum.Add(sum, v)
	}
	return sum
}

// Satisfies reports whether x lies in every box and meets every rule. If not, rule is the index of the first rule broken, or -1
// if x leaves a box or has the wrong length.
func (p *Problem) Satisfies(x []int64) (rule int, ok bool) {
	if len(x) != len(p.Vars) || p.check() != nil {
		return -1, false
	}
	for i, v := range p.Vars {
		if x[i] < v.Lo || x[i] > v.Hi {
			return -1, false
		}
	}
	for i := range p.Rules {
		r := &p.Rules[i]
		if !holds(r.Kind, r.Terms, r.Const, r.Modulus, x) {
			return i, false
		}
	}
	return -1, true
}

func holds(kind RuleKind, terms []Term, constant, modulus int64, x []int64) bool {
	var c checked
	v := constant
	for _, t := range terms {
		v = c.add(v, c.mul(t.Coef, x[t.Var]))
	}
	if c.bad {
		b := bigLinear(terms, constant, x)
		switch kind {
		case Equal:
			return b.Sign() == 0
		case AtLeast:
			return b.Sign() >= 0
		}
		return b.Rem(b, big.NewInt(modulus)).Sign() == 0
	}
	switch kind {
	case Equal:
		return v == 0
	case AtLeast:
		return v >= 0
	}
	return v%modulus == 0
}

// Solve finds the answer, spending at most budget nodes on each independent part ([Budget] if budget is below 1). The error is a
// *[Contradiction] if nothing satisfies the rules, *[Undecided] if the budget did not suffice to tell, *[TooLarge] or
// *[Malformed]. If the budget is spent after values were found, the best of them are returned with Proven false.
func (p *Problem) Solve(budget int) (*Answer, error) { return p.solve(usual(budget)) }

func (p *Problem) solve(e effort) (*Answer, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	// The first contradiction is named, unless the background contradicts itself elsewhere, where nothing need be named.
	var contradiction *Contradiction
	contradicts := func(c *Contradiction) {
		if contradiction == nil || len(c.Rules) == 0 {
			contradiction = c
		}
	}
	for i, r := range p.Rules {
		if len(r.Terms) == 0 && !holds(r.Kind, nil, r.Const, r.Modulus, nil) {
			c := &Contradiction{Smallest: true}
			if !r.Background {
				c.Rules = []int{i}
			}
			contradicts(c)
		}
	}
	a := &Answer{X: make([]int64, len(p.Vars)), constant: new(big.Rat), Proven: true}
	for _, s := range p.Scores {
		if len(s.Terms) == 0 {
			c := s.Const.rat()
			c = new(big.Rat).Mul(c, c)
			if s.Weight != nil {
				c.Mul(c, s.Weight)
			}
			a.constant.Add(a.constant, c)
		}
	}
	undecided := false
	mem := memories.Get().(*memory)
	defer memories.Put(mem)
	for _, g := range p.groups(p.every()) {
		if v := p.Vars[g.vars[0]]; len(g.rules)+len(g.scores) == 0 && v.Lo == v.Hi {
			a.X[g.vars[0]] = v.Lo // nothing to decide
			continue
		}
		mem.reset()
		pt, err := p.part(g, false, mem)
		if err != nil {
			return nil, err
		}
		f, err := pt.solve(e, false)
		if err != nil {
			return nil, err
		}
		a.Nodes += f.nodes
		switch {
		case f.state == none:
			contradicts(p.contradiction(g, e))
			continue
		case f.state == open:
			undecided = true
			continue
		}
		for i, v := range g.vars {
			a.X[v] = f.x[i]
		}
		a.parts = append(a.parts, finding{sum: f.sum, bound: f.bound})
		a.Proven = a.Proven && f.proven
	}
	if contradiction != nil {
		return nil, contradiction
	}
	if undecided {
		return nil, &Undecided{Nodes: a.Nodes}
	}
	return a, nil
}
