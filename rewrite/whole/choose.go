package whole

import (
	"math"
)

// settler is a row of the tie-break that unscored column number i, and none after it, changes: a sum to be largest, or an
// unknown to be near its hint.
type settler struct {
	terms []Term
	hint  bool
}

// choose goes through the unscored columns from number i on. The first values found are the tie-break's favourite: each column
// settles its row, and they come in the order of the rows.
func (s *search) choose(i int) bool {
	j := s.scored + i
	if j == len(s.lat.cols) {
		return s.satisfied()
	}
	d := j
	lo, hi := s.lo[d][s.unknown+j], s.hi[d][s.unknown+j]
	row := s.settles[i]
	var c checked
	step := int64(0)
	for _, t := range row.terms {
		step = c.add(step, c.mul(t.Coef, s.lat.cols[j][t.Var]))
	}
	if s.lat.c.bad = c.bad || step == math.MinInt64; s.lat.c.bad {
		return false
	}
	up, down := hi, hi // a sum to be largest: only one side
	if step < 0 {
		up = lo
	}
	value, hint := int64(0), int64(0)
	if row.hint {
		v := row.terms[0].Var
		hint = s.pt.hint[v]
		value = s.lat.base[v]
		for k := range j {
			value = c.add(value, c.mul(s.z[k], s.lat.cols[k][v]))
		}
		if s.lat.c.bad = c.bad; c.bad {
			return false
		}
		gap := c.sub(hint, value)
		if c.bad || gap == math.MinInt64 { // far outside of what z can do
			if gap = math.MaxInt64; hint < value {
				gap = -gap
			}
		}
		if step > 0 {
			down = floorDiv(gap, step)
		} else {
			down = floorDiv(-gap, -step)
		}
		down = max(lo-1, min(hi, down))
		up = down + 1
	}
	for {
		var v int64
		switch {
		case row.hint:
			if up > hi && down < lo {
				return false
			}
			rising := down < lo
			if up <= hi && down >= lo {
				a, x := distance(value, step, up, hint)
				b, y := distance(value, step, down, hint)
				rising = a < b || a == b && x > y
			}
			if rising {
				v = up
				up++
			} else {
				v = down
				down--
			}
		case step > 0:
			if v = up; v < lo {
				return false
			}
			up--
		default:
			if v = up; v > hi {
				return false
			}
			up++
		}
		if !s.spend() {
			return false
		}
		if s.fix(d, j, v) && s.choose(i+1) {
			return true
		}
		if s.cut || s.proved || s.early || s.lat.c.bad {
			return false
		}
	}
}

func distance(value, step, z, hint int64) (uint64, int64) {
	var c checked
	x := c.add(value, c.mul(step, z))
	if c.bad {
		return math.MaxUint64, 0
	}
	return apart(x, hint), x
}

// better reports whether the tie-break prefers x to y.
func (s *search) better(x, y []int64) bool {
	for _, b := range s.pt.better {
		if d := compareLinear(b, x, y); d != 0 {
			return d > 0
		}
	}
	for i := range x {
		a, b := apart(x[i], s.pt.hint[i]), apart(y[i], s.pt.hint[i])
		if a != b {
			return a < b
		}
		if x[i] != y[i] {
			return x[i] > y[i]
		}
	}
	return false
}

func compareLinear(terms []Term, x, y []int64) int {
	var c checked
	a, b := int64(0), int64(0)
	for _, t := range terms {
		a = c.add(a, c.mul(t.Coef, x[t.Var]))
		b = c.add(b, c.mul(t.Coef, y[t.Var]))
	}
	if c.bad {
		return bigLinear(terms, 0, x).Cmp(bigLinear(terms, 0, y))
	}
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// hopeless reports that no values in the intervals can be preferred to the best ones.
func (s *search) hopeless(lo, hi []int64) bool {
	for _, ts := range s.pt.better {
		var c checked
		a, b := int64(0), int64(0)
		for _, t := range ts {
			v := hi[t.Var]
			if t.Coef < 0 {
				v = lo[t.Var]
			}
			a = c.add(a, c.mul(t.Coef, v))
			b = c.add(b, c.mul(t.Coef, s.bestX[t.Var]))
		}
		if c.bad || a > b {
			return false
		}
		if a < b {
			return true
		}
	}
	for i, x := range s.bestX {
		hint := s.pt.hint[i]
		near := max(lo[i], min(hi[i], hint))
		a, b := apart(near, hint), apart(x, hint)
		if a != b {
			return a > b
		}
		// Of two values at this distance, near is the larger unless that one is not in the interval.
		if near != x {
			return near < x
		}
	}
	return true
}
