package whole

import "math/big"

// maxPivots bounds the work of a relaxation.
const maxPivots = 500

// impossible reports that even fractions cannot satisfy the rules, by the simplex method in exact fractions: its form for bounds
// on rows (Dutertre & de Moura, CAV 2006; from memory) with Bland's rule, which cannot cycle. False proves nothing.
func (s *search) impossible() bool {
	l := s.lat
	n := len(l.cols)
	type variable struct {
		lo, hi *big.Rat // nil if unbounded
		at     *big.Rat
	}
	// The columns come first and are free, then the rows with their bounds.
	vars := make([]variable, n)
	for j := range vars {
		vars[j].at = new(big.Rat)
	}
	var table [][]*big.Rat
	var basic []int // variable of each row
	nonbasic := make([]int, n)
	for j := range nonbasic {
		nonbasic[j] = j
	}
	add := func(terms []Term, lo, hi *big.Rat) {
		row := make([]*big.Rat, n)
		t, u := new(big.Int), new(big.Int)
		shift := new(big.Int)
		for _, m := range terms {
			shift.Add(shift, t.Mul(t.SetInt64(m.Coef), u.SetInt64(l.base[m.Var])))
		}
		some := false
		for j, col := range l.cols {
			h := new(big.Int)
			for _, m := range terms {
				h.Add(h, t.Mul(t.SetInt64(m.Coef), u.SetInt64(col[m.Var])))
			}
			some = some || h.Sign() != 0
			row[j] = new(big.Rat).SetInt(h)
		}
		if !some {
			return
		}
		sh := new(big.Rat).SetInt(shift)
		if lo != nil {
			lo = new(big.Rat).Sub(lo, sh)
		}
		if hi != nil {
			hi = new(big.Rat).Sub(hi, sh)
		}
		basic = append(basic, len(vars))
		vars = append(vars, variable{lo, hi, new(big.Rat)})
		table = append(table, row)
	}
	for i := range l.base {
		var lo, hi *big.Rat
		if v := s.lo[0][i]; v > -unbounded {
			lo = new(big.Rat).SetInt64(v)
		}
		if v := s.hi[0][i]; v < unbounded {
			hi = new(big.Rat).SetInt64(v)
		}
		add([]Term{{i, 1}}, lo, hi)
	}
	for _, r := range s.pt.rules {
		if r.Kind == AtLeast {
			add(r.Terms, new(big.Rat).Neg(new(big.Rat).SetInt64(r.Const)), nil)
		}
	}
	t := new(big.Rat)
	for range maxPivots {
		out := -1
		var bound *big.Rat
		for r, b := range basic {
			v := &vars[b]
			var broken *big.Rat
			if v.lo != nil && v.at.Cmp(v.lo) < 0 {
				broken = v.lo
			} else if v.hi != nil && v.at.Cmp(v.hi) > 0 {
				broken = v.hi
			}
			if broken != nil && (out < 0 || b < basic[out]) {
				out, bound = r, broken
			}
		}
		if out < 0 {
			return false
		}
		rising := vars[basic[out]].at.Cmp(bound) < 0
		in := -1
		for j, v := range nonbasic {
			k := table[out][j].Sign()
			if k == 0 {
				continue
			}
			x := &vars[v]
			up := (k > 0) == rising // the way this variable would have to move
			if up && x.hi != nil && x.at.Cmp(x.hi) >= 0 || !up && x.lo != nil && x.at.Cmp(x.lo) <= 0 {
				continue
			}
			if in < 0 || v < nonbasic[in] {
				in = j
			}
		}
		if in < 0 {
			return true
		}
		// Move the entering variable until the leaving one is at its bound, then exchange them.
		move := new(big.Rat).Sub(bound, vars[basic[out]].at)
		move.Quo(move, table[out][in])
		vars[nonbasic[in]].at.Add(vars[nonbasic[in]].at, move)
		for r, b := range basic {
			vars[b].at.Add(vars[b].at, t.Mul(table[r][in], move))
		}
		pivot := table[out]
		inv := new(big.Rat).Inv(pivot[in])
		for j := range pivot {
			if j != in {
				pivot[j].Neg(pivot[j].Mul(pivot[j], inv))
			}
		}
		pivot[in].Set(inv)
		for r, row := range table {
			if r == out || row[in].Sign() == 0 {
				continue
			}
			k := new(big.Rat).Set(row[in])
			for j := range row {
				if j == in {
					row[j].Mul(k, inv)
				} else {
					row[j].Add(row[j], t.Mul(k, pivot[j]))
				}
			}
		}
		basic[out], nonbasic[in] = nonbasic[in], basic[out]
	}
	return false
}
