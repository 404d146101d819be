package render

import (
	"math/big"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

var (
	inch = big.NewRat(254, 100) // international yard and pound agreement, 1959: exactly 2.54 cm
	ten  = big.NewRat(10, 1)
	half = big.NewRat(1, 2)
)

// fraction is x in machine integers, den being positive; ok is false where they do not hold it. Nearly every number of a
// pattern is small, and a page has thousands of them: big numbers are kept for those that are not.
func fraction(x *big.Rat) (num, den int64, ok bool) {
	n := x.Num()
	if !n.IsInt64() {
		return 0, 0, false
	}
	if x.IsInt() {
		return n.Int64(), 1, true
	}
	d := x.Denom()
	return n.Int64(), d.Int64(), d.IsInt64()
}

// equal says whether two numbers are. It costs less than Cmp, which multiplies.
func equal(x, y *big.Rat) bool {
	if x.IsInt() || y.IsInt() {
		return x.IsInt() && y.IsInt() && x.Num().Cmp(y.Num()) == 0
	}
	return x.Num().Cmp(y.Num()) == 0 && x.Denom().Cmp(y.Denom()) == 0
}

// decimal is x exactly where its decimals end within six places, else rounded to six.
func decimal(x *big.Rat) string { return decimals(x, 6) }

func decimals(x *big.Rat, places int) string {
	var b [32]byte
	return string(appendDecimals(b[:0], x, places))
}

var powersOfTen = [...]uint64{1, 10, 100, 1_000, 10_000, 100_000, 1_000_000}

// appendDecimals writes x rounded to so many places, halves away from zero, without zeros at the end.
func appendDecimals(b []byte, x *big.Rat, places int) []byte {
	num, den, ok := fraction(x)
	switch {
	case ok && den == 1:
		return strconv.AppendInt(b, num, 10)
	case x.IsInt():
		return x.Num().Append(b, 10)
	case !ok || places >= len(powersOfTen):
		s := strings.TrimSuffix(strings.TrimRight(x.FloatString(places), "0"), ".")
		if s == "-0" {
			s = "0"
		}
		return append(b, s...)
	}
	n, d, scale := uint64(num), uint64(den), powersOfTen[places]
	if num < 0 {
		n = -n
	}
	whole := n / d
	hi, lo := bits.Mul64(n%d, scale)
	part, rest := bits.Div64(hi, lo, d) // hi < d, since n%d < d and scale < 2⁶⁴
	if rest >= d-rest {
		part++
	}
	if part == scale {
		whole, part = whole+1, 0
	}
	if num < 0 && whole+part > 0 {
		b = append(b, '-')
	}
	b = strconv.AppendUint(b, whole, 10)
	if part == 0 {
		return b
	}
	for part%10 == 0 {
		part /= 10
		places--
	}
	b = append(b, ".000000"[:1+places]...)
	for i := len(b) - 1; part > 0; i-- {
		b[i] = byte('0' + part%10)
		part /= 10
	}
	return b
}

// exact is x with all its decimals where they end, else with six.
func exact(x *big.Rat) string {
	if n, ends := x.FloatPrec(); ends {
		return decimals(x, n)
	}
	return decimal(x)
}

// scale is how a tape measure in a unit is read: the steps to a centimetre, as a fraction; how many steps make a whole,
// which is written as so many; the sign of a negative length; and what stands after the whole for the steps left over.
type scale struct {
	steps, to     int64
	whole, worth  int64
	minus         string
	parts         [4]string
	withoutNought bool // a part is written without a nought before it
}

var (
	halfCentimetres = scale{steps: 2, to: 1, whole: 2, worth: 1, minus: "-", parts: [4]string{"", ".5"}}
	fiveMillimetres = scale{steps: 2, to: 1, whole: 1, worth: 5, minus: "-"}
	quarterInches   = scale{steps: 200, to: 127, whole: 4, worth: 1, minus: "−", parts: [4]string{"", "¼", "½", "¾"}, withoutNought: true}
)

func tapeIn(u grammar.Unit) *scale {
	switch u {
	case grammar.Inches:
		return &quarterInches
	case grammar.Millimetres:
		return &fiveMillimetres
	}
	return &halfCentimetres
}

// centimetresTo is how many centimetres a unit has, as a fraction.
func centimetresTo(u grammar.Unit) (num, den int64) {
	switch u {
	case grammar.Inches:
		return 127, 50
	case grammar.Millimetres:
		return 1, 10
	}
	return 1, 1
}

// appendTape writes a length drafted in one unit in another, as a tape measure is read: to half a centimetre or a quarter
// of an inch, halves upwards. Units are Centimetres, Millimetres or Inches; the unit itself is not written.
func appendTape(b []byte, x *big.Rat, from, to grammar.Unit) []byte {
	if num, den, ok := fraction(x); ok && withinFactor(num, den) {
		return appendShortTape(b, num, den, from, to)
	}
	return appendLongTape(b, x, from, to)
}

// appendShortTape is appendTape for numbers within maxFactor.
func appendShortTape(b []byte, num, den int64, from, to grammar.Unit) []byte {
	up, down, t := tapeSteps(from, to)
	// Halves upwards: the floor of n/d + 1/2.
	n, d := 2*num*up+den*down, 2*den*down
	steps := n / d
	if n%d < 0 {
		steps--
	}
	if steps < 0 {
		b = append(b, t.minus...)
		steps = -steps
	}
	whole, part := steps/t.whole*t.worth, t.parts[steps%t.whole]
	if whole > 0 || part == "" || !t.withoutNought {
		b = strconv.AppendInt(b, whole, 10)
	}
	return append(b, part...)
}

// tapeSteps is how a length in one unit is counted in the steps of the tape measure of another: as up/down of them.
func tapeSteps(from, to grammar.Unit) (up, down int64, t *scale) {
	t = tapeIn(to)
	up, down = centimetresTo(from)
	return up * t.steps, down * t.to, t
}

// maxFactor keeps the products of appendTape within 64 bits: their other factor is 2 · 127 · 200 < 2¹⁶ at most.
const maxFactor = 1 << 45

// withinFactor says whether num/den may be multiplied in 64 bits. The least integer has no opposite, so both ends are looked at.
func withinFactor(num, den int64) bool {
	return -maxFactor <= num && num <= maxFactor && den <= maxFactor
}

// appendLongTape is appendTape for numbers past machine integers.
func appendLongTape(b []byte, x *big.Rat, from, to grammar.Unit) []byte {
	up, down, t := tapeSteps(from, to)
	q := new(big.Rat).Mul(x, big.NewRat(up, down))
	q.Add(q, half)
	steps := new(big.Int).Div(q.Num(), q.Denom()) // Euclidean: the floor, as a denominator is positive
	if steps.Sign() < 0 {
		b = append(b, t.minus...)
		steps.Neg(steps)
	}
	whole, rest := new(big.Int).DivMod(steps, big.NewInt(t.whole), new(big.Int))
	part := t.parts[rest.Int64()]
	if whole.Sign() > 0 || part == "" || !t.withoutNought {
		b = whole.Mul(whole, big.NewInt(t.worth)).Append(b, 10)
	}
	return append(b, part...)
}

func tape(cm *big.Rat, unit grammar.Unit) string {
	var b [32]byte
	return string(appendTape(b[:0], cm, grammar.Centimetres, unit))
}

// outcome is what a count comes to, a width or a height in centimetres: to a tenth of a centimetre or of an inch, on every page. It
// is finer than a tape is read (tape is for lengths to be worked to), so that one sees how near a whole count comes.
func outcome(cm dsl.Fraction, u grammar.Unit) string {
	num, den := centimetresTo(u)
	tenths, _ := cm.Times(dsl.FractionOf(10 * den)).Over(dsl.FractionOf(num)).RoundTo(dsl.FractionOf(1)).Floor()
	var room [32]byte
	b := room[:0]
	if tenths < 0 {
		b, tenths = append(b, '-'), -tenths
	}
	b = strconv.AppendInt(b, tenths/10, 10)
	if tenths%10 != 0 {
		b = append(b, '.', byte('0'+tenths%10))
	}
	return string(b)
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

// sizeValues are texts, one a size, written one after another. It may be used again and again without new memory.
type sizeValues struct {
	text []byte
	ends []int
}

func (v *sizeValues) clear() { v.text, v.ends = v.text[:0], v.ends[:0] }

// end ends the text of a size.
func (v *sizeValues) end() { v.ends = append(v.ends, len(v.text)) }

// appendList writes one value a size in the layout of s, or a single value where all are alike.
func (v *sizeValues) appendList(b []byte, s grammar.ListStyle) []byte {
	if len(v.ends) == 0 {
		return b
	}
	first := v.text[:v.ends[0]]
	same := true
	for i := 1; i < len(v.ends) && same; i++ {
		same = slices.Equal(first, v.text[v.ends[i-1]:v.ends[i]])
	}
	b = append(b, first...)
	if same {
		return b
	}
	s = orTrade(s)
	b = append(append(b, s.Gap...), s.Open...)
	for i := 1; i < len(v.ends); i++ {
		if i > 1 {
			b = append(b, s.Sep...)
		}
		b = append(b, v.text[v.ends[i-1]:v.ends[i]]...)
	}
	return append(b, s.Close...)
}

// orTrade is a draft's layout of sizes, or what is usual in the trade where it has none: the first, then the others in
// brackets.
func orTrade(s grammar.ListStyle) grammar.ListStyle {
	if s.Open == "" {
		return grammar.ListStyle{Open: "(", Close: ")", Gap: " ", Sep: ", "}
	}
	return s
}

// layout writes one value a size in the layout of s.
func layout(vals []string, s grammar.ListStyle) string {
	if len(vals) == 1 {
		return vals[0]
	}
	s = orTrade(s)
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
	rows := " rows to "
	if g.Rounds {
		rows = " rounds to "
	}
	return decimals(new(big.Rat).Mul(x.Stitches, over), 2) + " sts and " + decimals(new(big.Rat).Mul(x.Rows, over), 2) + rows + gaugeWidth(over)
}

// gaugeWidth is the width a gauge is said over: `10 cm`, `4 in`.
func gaugeWidth(over *big.Rat) string {
	if in := new(big.Rat).Quo(over, inch); !over.IsInt() && in.IsInt() {
		return in.Num().String() + " in"
	}
	return exact(over) + " cm"
}
