package render

import (
	"math/big"
	"strings"

	"gaugewright/grammar"
	"gaugewright/rewrite"
)

var (
	inch = big.NewRat(254, 100) // international yard and pound agreement, 1959: exactly 2.54 cm
	ten  = big.NewRat(10, 1)
	half = big.NewRat(1, 2)
	four = big.NewRat(4, 1)
)

// decimal is x exactly where its decimals end within six places, else rounded to six.
func decimal(x *big.Rat) string { return decimals(x, 6) }

func decimals(x *big.Rat, places int) string {
	if x.IsInt() {
		return x.Num().String()
	}
	s := strings.TrimSuffix(strings.TrimRight(x.FloatString(places), "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// exact is x with all its decimals where they end, else with six.
func exact(x *big.Rat) string {
	if n, ends := x.FloatPrec(); ends {
		return decimals(x, n)
	}
	return decimal(x)
}

// nearest is x in whole steps, halves upwards.
func nearest(x, step *big.Rat) *big.Int {
	q := new(big.Rat).Quo(x, step)
	q.Add(q, half)
	return new(big.Int).Div(q.Num(), q.Denom()) // Euclidean: the floor, as a denominator is positive
}

// tape is a length in centimetres as a tape measure is read: to half a centimetre, or to a quarter of an inch. unit is
// Centimetres, Millimetres or Inches; the unit itself is not written.
func tape(cm *big.Rat, unit grammar.Unit) string {
	switch unit {
	case grammar.Inches:
		return quarters(nearest(new(big.Rat).Quo(cm, inch), big.NewRat(1, 4)))
	case grammar.Millimetres:
		n := nearest(cm, half)
		return n.Mul(n, big.NewInt(5)).String()
	}
	return decimals(new(big.Rat).SetFrac(nearest(cm, half), big.NewInt(2)), 1)
}

// quarters writes n quarters: `15½`.
func quarters(n *big.Int) string {
	sign := ""
	if n.Sign() < 0 {
		sign = "−"
		n = new(big.Int).Neg(n)
	}
	whole, rest := new(big.Int).DivMod(n, big.NewInt(4), new(big.Int))
	part := [...]string{"", "¼", "½", "¾"}[rest.Int64()]
	if whole.Sign() == 0 && part != "" {
		return sign + part
	}
	return sign + whole.String() + part
}

func unitName(u grammar.Unit) string {
	switch u {
	case grammar.Inches:
		return "in"
	case grammar.Millimetres:
		return "mm"
	}
	return "cm"
}

// inCm is a length written in unit u, in centimetres.
func inCm(x *big.Rat, u grammar.Unit) *big.Rat {
	switch u {
	case grammar.Inches:
		return new(big.Rat).Mul(x, inch)
	case grammar.Millimetres:
		return new(big.Rat).Quo(x, ten)
	}
	return x
}

// shown is the units a length drafted in u is written in: the first, and a second in brackets or NoUnit.
func (o Options) shown(u grammar.Unit) (first, second grammar.Unit) {
	if u != grammar.Inches && u != grammar.Millimetres {
		u = grammar.Centimetres
	}
	switch o.Units {
	case "cm":
		if u == grammar.Inches {
			u = grammar.Centimetres
		}
	case "in":
		u = grammar.Inches
	case "both":
		if u == grammar.Inches {
			return u, grammar.Centimetres
		}
		return u, grammar.Inches
	}
	return u, grammar.NoUnit
}

// list writes one value a size in the layout of s, or a single value where all are alike.
func list(vals []string, s grammar.ListStyle) string {
	if len(vals) == 0 {
		return ""
	}
	same := true
	for _, v := range vals[1:] {
		same = same && v == vals[0]
	}
	if same {
		return vals[0]
	}
	return layout(vals, s)
}

// layout writes one value a size as the trade does: the first, then the others in brackets.
func layout(vals []string, s grammar.ListStyle) string {
	if len(vals) == 1 {
		return vals[0]
	}
	if s.Open == "" {
		s = grammar.ListStyle{Open: "(", Close: ")", Gap: " ", Sep: ", "}
	}
	return vals[0] + s.Gap + s.Open + strings.Join(vals[1:], s.Sep) + s.Close
}

// gaugeText is a gauge as a swatch is read, over the width the draft states it over.
func gaugeText(g rewrite.GaugeChange, to bool) string {
	x := g.From
	if to {
		x = g.To
	}
	over := g.Over
	if over == nil || over.Sign() <= 0 {
		over = ten
	}
	width := exact(over) + " cm"
	if in := new(big.Rat).Quo(over, inch); !over.IsInt() && in.IsInt() {
		width = in.Num().String() + " in"
	}
	rows := " rows to "
	if g.Rounds {
		rows = " rounds to "
	}
	return decimals(new(big.Rat).Mul(x.Stitches, over), 2) + " sts and " + decimals(new(big.Rat).Mul(x.Rows, over), 2) + rows + width
}
