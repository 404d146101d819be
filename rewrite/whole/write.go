package whole

import (
	"bufio"
	"fmt"
	"io"
	"math/big"
	"strings"
)

// maxChords bounds the rows that WriteLP writes for squares.
const maxChords = 200_000

// WriteLP writes the problem in the LP format that general-purpose integer solvers read, for an outside check. What it asks for
// is the smallest sum; the tie-break is not part of it, so of equal sums another program may find other values.
//
// A score's combination is scaled to whole numbers, v = Σ coef·x with coefficients that have no common divisor, and becomes an
// unknown of its own. Its square (v + δ)² is replaced by an unknown that lies above all chords from one whole number to the next:
// at whole numbers that is the square, exactly. Chords are written for a window of v. Without known it is what the boxes allow.
// With known, the values of an answer, it is also where the one score is not more than the whole sum at known: every solution
// outside has a larger sum than one that exists, so the window is big enough, whether or not known is the best. A constant that
// is part of every sum is named in a comment only.
//
// The error is w's, *[Malformed], or *[TooLarge] if the windows hold too many whole numbers.
func (p *Problem) WriteLP(w io.Writer, known []int64) error {
	if err := p.check(); err != nil {
		return err
	}
	var sum *big.Rat
	if known != nil {
		if _, ok := p.Satisfies(known); !ok {
			return &Malformed{"the known values do not satisfy the rules"}
		}
		sum = p.Sum(known)
	}
	out := &lpWriter{w: bufio.NewWriter(w)}
	names := p.lpNames()
	all, space := p.together(), store[Term]{}
	var objective, rows, bounds, generals strings.Builder
	constant := new(big.Rat)
	for i, v := range p.Vars {
		// Some readers refuse an unknown that stands in no row.
		fmt.Fprintf(&rows, " in_%d: %s >= %d\n", i, names[i], v.Lo)
		fmt.Fprintf(&bounds, " %d <= %s <= %d\n", v.Lo, names[i], v.Hi)
		fmt.Fprintf(&generals, " %s\n", names[i])
	}
	for i, r := range p.Rules {
		ts, ok := all.renumber(r.Terms, &space)
		if !ok {
			return &TooLarge{"the coefficients of a rule do not fit in 64 bits"}
		}
		left := lpLinear(ts, names)
		right := new(big.Int).Neg(big.NewInt(r.Const))
		switch {
		case len(ts) == 0 && holds(r.Kind, nil, r.Const, r.Modulus, nil):
			continue
		case len(ts) == 0: // a row that cannot hold
			if len(p.Vars) == 0 {
				return &Malformed{"a rule without unknowns does not hold"}
			}
			fmt.Fprintf(&rows, " r_%d: %s >= %v\n", i, names[0], new(big.Int).Add(big.NewInt(p.Vars[0].Hi), big.NewInt(1)))
		case r.Kind == Equal:
			fmt.Fprintf(&rows, " r_%d:%s = %v\n", i, left, right)
		case r.Kind == AtLeast:
			fmt.Fprintf(&rows, " r_%d:%s >= %v\n", i, left, right)
		default:
			lo, hi := p.reach(ts, r.Const)
			m := big.NewInt(r.Modulus)
			lo.Div(lo, m)
			hi.Div(hi, m)
			fmt.Fprintf(&rows, " r_%d:%s - %d m_%d = %v\n", i, left, r.Modulus, i, right)
			fmt.Fprintf(&bounds, " %v <= m_%d <= %v\n", lo, i, hi)
			fmt.Fprintf(&generals, " m_%d\n", i)
		}
	}
	chords := 0
	one := big.NewInt(1)
	for i := range p.Scores {
		f, w, ok := all.wholeForm(&p.Scores[i], &space)
		if !ok {
			return &TooLarge{"the coefficients of a score do not fit in 64 bits"}
		}
		weight := w.rat()
		if weight.Sign() == 0 {
			continue
		}
		c := big.NewInt(f.constant)
		if len(f.terms) == 0 {
			v := new(big.Rat).SetInt(c)
			constant.Add(constant, v.Mul(v.Mul(v, v), weight))
			continue
		}
		// weight·(g·v + c)² = weight/q²·(q·g·v + q·c)², and with δ = c/g in lowest terms, a/q: weight·g²/q²·(q·v + a)².
		g := new(big.Int)
		for _, t := range f.terms {
			g.GCD(nil, nil, g, new(big.Int).SetUint64(size(t.Coef)))
		}
		for k := range f.terms {
			t := new(big.Int).Quo(big.NewInt(f.terms[k].Coef), g)
			f.terms[k].Coef = t.Int64()
		}
		delta := new(big.Rat).SetFrac(c, g)
		a, q := delta.Num(), delta.Denom()
		weight.Mul(weight, new(big.Rat).SetFrac(new(big.Int).Mul(g, g), new(big.Int).Mul(q, q)))
		lo, hi := p.reach(f.terms, 0)
		if sum != nil {
			// weight·(q·v + a)² ≤ sum
			most := new(big.Rat).Quo(sum, weight)
			root := new(big.Int).Quo(most.Num(), most.Denom())
			root.Sqrt(root)
			under := new(big.Int).Neg(root)
			under.Sub(under, a).Sub(under, q).Add(under, one).Quo(under, q) // rounded outwards by less than 2
			under.Sub(under, one)
			over := new(big.Int).Sub(root, a)
			over.Add(over, q).Quo(over, q)
			over.Add(over, one)
			if under.Cmp(lo) > 0 {
				lo = under
			}
			if over.Cmp(hi) < 0 {
				hi = over
			}
		}
		count := new(big.Int).Sub(hi, lo)
		if !count.IsInt64() || count.Int64() > maxChords {
			return &TooLarge{"too many whole numbers within reach of a score"}
		}
		if chords += int(count.Int64()) + 1; chords > maxChords {
			return &TooLarge{"too many whole numbers within reach of the scores"}
		}
		// s_i stands for (v + δ)² itself: with q² in every row, slopes of 10¹² beside weights of 10⁻¹² lead solvers that
		// reckon in floating point astray.
		price := new(big.Rat).Mul(weight, new(big.Rat).SetInt(new(big.Int).Mul(q, q)))
		fmt.Fprintf(&objective, " + %s s_%d\n", lpRat(price), i)
		fmt.Fprintf(&rows, " v_%d_is:%s - v_%d = 0\n", i, lpLinear(f.terms, names), i)
		fmt.Fprintf(&bounds, " %v <= v_%d <= %v\n", lo, i, hi)
		fmt.Fprintf(&generals, " v_%d\n", i)
		// The chord of (v + δ)² from m to m+1: (2m + 1 + 2δ)·v + δ² − m·(m + 1).
		for m := new(big.Int).Set(lo); ; m.Add(m, one) {
			slope := new(big.Rat).SetInt(new(big.Int).Add(new(big.Int).Add(m, m), one))
			slope.Add(slope, delta).Add(slope, delta)
			next := new(big.Int).Add(m, one)
			at := new(big.Rat).Mul(delta, delta)
			at.Sub(at, new(big.Rat).SetInt(new(big.Int).Mul(m, next)))
			sign := "-"
			if slope.Sign() < 0 {
				sign = "+"
			}
			fmt.Fprintf(&rows, " c_%d_%d: s_%d %s %s v_%d >= %s\n", i, new(big.Int).Sub(m, lo), i, sign, lpRat(slope.Abs(slope)), i, lpRat(at))
			if next.Cmp(hi) >= 0 {
				break
			}
		}
	}
	out.printf("\\ Whole numbers with the smallest sum of squares.\n")
	out.printf("\\ s_i: the square of score i, above its chords; v_i: its combination, scaled to whole numbers;\n")
	out.printf("\\ m_i: the multiplier of congruence i.\n")
	if constant.Sign() != 0 {
		out.printf("\\ To every sum comes %s.\n", constant.RatString())
	}
	if objective.Len() == 0 && len(names) > 0 {
		fmt.Fprintf(&objective, " 0 %s\n", names[0])
	}
	out.printf("Minimize\n sum:\n%sSubject To\n%sBounds\n%sGenerals\n%sEnd\n", &objective, &rows, &bounds, &generals)
	if out.err == nil {
		out.err = out.w.Flush()
	}
	return out.err
}

type lpWriter struct {
	w   *bufio.Writer
	err error
}

func (l *lpWriter) printf(format string, args ...any) {
	if l.err == nil {
		_, l.err = fmt.Fprintf(l.w, format, args...)
	}
}

// reach is the least and the largest value of Σ coef·x + constant within the boxes.
func (p *Problem) reach(terms []Term, constant int64) (lo, hi *big.Int) {
	lo, hi = big.NewInt(constant), big.NewInt(constant)
	for _, t := range terms {
		c := big.NewInt(t.Coef)
		a := new(big.Int).Mul(c, big.NewInt(p.Vars[t.Var].Lo))
		b := new(big.Int).Mul(c, big.NewInt(p.Vars[t.Var].Hi))
		if t.Coef < 0 {
			a, b = b, a
		}
		lo.Add(lo, a)
		hi.Add(hi, b)
	}
	return lo, hi
}

// lpNames are names the format allows, each with its number, so that they are all different: letters, digits and _.
func (p *Problem) lpNames() []string {
	names := make([]string, len(p.Vars))
	for i, v := range p.Vars {
		clean := strings.Map(func(r rune) rune {
			switch {
			case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9':
				return r
			}
			return '_'
		}, v.Name)
		// A leading x keeps a name apart from numbers (e5) and from words of the format.
		names[i] = fmt.Sprintf("x%d_%.60s", i, clean)
	}
	return names
}

func lpLinear(terms []Term, names []string) string {
	var b strings.Builder
	for k, t := range terms {
		sign := "+"
		if t.Coef < 0 {
			sign = "-"
		}
		if k%8 == 7 {
			b.WriteString("\n ")
		}
		fmt.Fprintf(&b, " %s %d %s", sign, size(t.Coef), names[t.Var])
	}
	return b.String()
}

// lpRat is x in decimals, as near as floating point comes.
func lpRat(x *big.Rat) string {
	f, _ := x.Float64()
	return lpNumber(f)
}

// lpNumber avoids the capital E and the plus sign that some readers stumble over.
func lpNumber(f float64) string {
	return strings.Replace(fmt.Sprintf("%.17g", f), "e+", "e", 1)
}
