package whole

import (
	"fmt"
	"math/big"
	"testing"
)

func frac(a, b int64) *big.Rat { return big.NewRat(a, b) }

func constant(a, b int64) Constant { return constantOf(frac(a, b)) }

func constantOf(r *big.Rat) Constant {
	if r.Num().IsInt64() && r.Denom().IsInt64() {
		return Constant{Num: r.Num().Int64(), Den: r.Denom().Int64()}
	}
	return Constant{Big: r}
}

// pullover is a chain of shaped parts as a piece has them: counts, times and rows of one shaping after the other, each edge and each
// count scored in centimetres at the gauge of sts and rows to 10 cm, with parity, room and tied counts.
func pullover(edges int, sts, rows int64) *Problem {
	p := &Problem{}
	add := func(lo, hi, hint int64, name string) int {
		p.Vars = append(p.Vars, Var{lo, hi, hint, name})
		return len(p.Vars) - 1
	}
	score := func(weight, gauge, wish10 int64, terms ...Term) { // wish in tenths of a millimetre
		s := Score{Const: constant(-wish10, 100), Weight: frac(weight, 1)}
		for _, t := range terms {
			s.Terms = append(s.Terms, FracTerm{t.Var, frac(10*t.Coef, gauge)})
		}
		p.Scores = append(p.Scores, s)
	}
	cast := add(1, 2000, 90, "cast on")
	score(16, sts, 5037, Term{cast, 1})
	p.Rules = append(p.Rules, Rule{Kind: Multiple, Terms: []Term{{cast, 1}}, Const: -2, Modulus: 4})
	count := []Term{{cast, 1}}
	wish := int64(5037)
	for i := range edges {
		n := add(1, 2000, 5, fmt.Sprint("times ", i))
		r := add(1, 2000, 20, fmt.Sprint("rows ", i))
		per := int64(2)
		if i%3 == 1 {
			per = -2
		}
		wide := 311 + 97*int64(i%4)
		wish -= wide * per
		score(1, sts, wide, Term{n, 1})
		score(1, rows, 817+203*int64(i%5), Term{r, 1})
		count = append(count[:len(count):len(count)], Term{n, -per})
		weight := int64(1)
		if i%4 == 3 {
			weight = 16
		}
		score(weight, sts, wish, count...)
		p.Rules = append(p.Rules, Rule{Kind: AtLeast, Terms: []Term{{r, 1}, {n, -1}}},
			Rule{Kind: AtLeast, Terms: count, Const: -1})
		if i%2 == 1 {
			p.Rules = append(p.Rules, Rule{Kind: Multiple, Terms: []Term{{r, 1}}, Modulus: 2})
		}
		if i%3 == 2 { // shaping as slow as drafted, or an indicator that costs
			y := add(0, 1, 0, fmt.Sprint("leaves its step ", i))
			p.Rules = append(p.Rules, Rule{Kind: AtLeast, Terms: []Term{{r, 1}, {y, 2000}, {n, -4}}})
			score(1, 10, 100, Term{y, 1})
			p.Scores[len(p.Scores)-1].Const = Constant{}
		}
		p.Better = append(p.Better, count)
	}
	total := []Term{}
	for i, v := range p.Vars {
		if v.Name[0] == 'r' {
			total = append(total, Term{i, 1})
		}
	}
	score(16, rows, 1013*int64(edges)+37, total...)
	p.Better = append(p.Better, total)
	return p
}

func BenchmarkSolve(b *testing.B) {
	for _, edges := range []int{1, 3, 6, 9, 12} {
		p := pullover(edges, 17, 23)
		b.Run(fmt.Sprintf("unknowns=%d", len(p.Vars)), func(b *testing.B) {
			b.ReportAllocs()
			nodes := 0
			for b.Loop() {
				a, err := p.Solve(0)
				if err != nil || !a.Proven {
					b.Fatal(err, a)
				}
				nodes = a.Nodes
			}
			b.ReportMetric(float64(nodes), "nodes")
		})
	}
}
