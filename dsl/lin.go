package dsl

import "slices"

// Lin is a whole-number linear form over the quantities of a draft: Σ Coef·quantity + Const. A count of stitches in
// hand, the rows passed, a stated sum: everything a piece's arithmetic is made of is one of these, so that the same
// working of a piece serves to check the drafted numbers and to say what any others would have to satisfy.
// A Lin is never changed once made.
type Lin struct {
	Terms []Term // sorted by Quantity, no zero coefficients
	Const int64
}

// Term is one summand of a Lin.
type Term struct {
	Quantity int
	Coef     int64
}

func whole(n int64) Lin { return Lin{Const: n} }

func of(q int) Lin { return Lin{Terms: []Term{{q, 1}}} }

// Plus is l + k·m.
func (l Lin) Plus(m Lin, k int64) Lin {
	out := Lin{Const: l.Const + k*m.Const}
	switch {
	case k == 0:
		return l
	case len(m.Terms) == 0:
		out.Terms = l.Terms
		return out
	case len(l.Terms) == 0 && k == 1:
		out.Terms = m.Terms
		return out
	}
	out.Terms = make([]Term, 0, len(l.Terms)+len(m.Terms))
	i, j := 0, 0
	for i < len(l.Terms) || j < len(m.Terms) {
		switch {
		case j == len(m.Terms) || i < len(l.Terms) && l.Terms[i].Quantity < m.Terms[j].Quantity:
			out.Terms = append(out.Terms, l.Terms[i])
			i++
		case i == len(l.Terms) || l.Terms[i].Quantity > m.Terms[j].Quantity:
			out.Terms = append(out.Terms, Term{m.Terms[j].Quantity, k * m.Terms[j].Coef})
			j++
		default:
			if c := l.Terms[i].Coef + k*m.Terms[j].Coef; c != 0 {
				out.Terms = append(out.Terms, Term{l.Terms[i].Quantity, c})
			}
			i, j = i+1, j+1
		}
	}
	return out
}

// Times is k·l.
func (l Lin) Times(k int64) Lin { return whole(0).Plus(l, k) }

// share is l / k, where k divides every number of l; else nothing.
func (l Lin) share(k int64) Lin {
	if l.Const%k != 0 {
		return Lin{}
	}
	out := Lin{Terms: make([]Term, 0, len(l.Terms)), Const: l.Const / k}
	for _, t := range l.Terms {
		if t.Coef%k != 0 {
			return Lin{}
		}
		out.Terms = append(out.Terms, Term{t.Quantity, t.Coef / k})
	}
	return out
}

// Add is l + n.
func (l Lin) Add(n int64) Lin { return Lin{Terms: l.Terms, Const: l.Const + n} }

// At is the value of l where quantity q has the value v(q).
func (l Lin) At(v func(q int) int64) int64 {
	n := l.Const
	for _, t := range l.Terms {
		n += t.Coef * v(t.Quantity)
	}
	return n
}

// IsConst says that no quantity occurs in l.
func (l Lin) IsConst() bool { return len(l.Terms) == 0 }

// Same says that l and m are the same form.
func (l Lin) Same(m Lin) bool { return l.Const == m.Const && slices.Equal(l.Terms, m.Terms) }

// Height is a height in rows, fabric by fabric, since each fabric has a row gauge of its own. Never changed once made.
type Height []FabricRows

// FabricRows is so many rows of one fabric.
type FabricRows struct {
	Fabric int
	Rows   Lin
}

func (h Height) plus(fabric int, rows Lin) Height {
	out := append(Height(nil), h...)
	for i := range out {
		if out[i].Fabric == fabric {
			out[i].Rows = out[i].Rows.Plus(rows, 1)
			return out
		}
	}
	out = append(out, FabricRows{fabric, rows})
	slices.SortFunc(out, func(x, y FabricRows) int { return x.Fabric - y.Fabric })
	return out
}

// since is h less the height from, which must be a height of the same work at an earlier time.
func (h Height) since(from Height) Height {
	var out Height
	for _, x := range h {
		for _, y := range from {
			if y.Fabric == x.Fabric {
				x.Rows = x.Rows.Plus(y.Rows, -1)
			}
		}
		if !x.Rows.IsConst() || x.Rows.Const != 0 {
			out = append(out, x)
		}
	}
	return out
}

// rows is the rows of h in all fabrics together.
func (h Height) rows() Lin {
	n := whole(0)
	for _, x := range h {
		n = n.Plus(x.Rows, 1)
	}
	return n
}
