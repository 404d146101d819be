package rewrite

import (
	"math/big"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Yarn is how much yarn the pieces take, and what that rests on.
type Yarn struct {
	Basis   YarnBasis
	Amounts []YarnAmount
	Swatch  *dsl.Swatch // WeighedSwatch: which
	// Denser is how many times the stitches to a square centimetre are those of the draft, the first target's; nil unless Drafted.
	Denser *big.Rat
}

// YarnBasis is what an amount of yarn rests on.
type YarnBasis int

const (
	// WeighedSwatch: grams to a square centimetre of a swatch, times the area of the pieces. A fabric that was not weighed itself weighs
	// more as its stitches lie closer, by the square root of stitches to an area, for the yarn in a stitch goes with the inverse.
	WeighedSwatch YarnBasis = iota
	// DraftedFigure: the draft's own figure, scaled by the area of the pieces and by the square root of the stitches to an area.
	DraftedFigure
	// EstimatedLoops: stitches times the yarn in one, l = √(Ks/S), with Ks = 23.1 for fully relaxed plain knit (Kc·Kw = 5.5·4.2, as in
	// the GATE Textile Engineering examination 2015, question 54) and S stitches to a square centimetre.
	EstimatedLoops
)

// YarnAmount is one figure: about so much, hardly less and hardly more. Values are in Unit, one a target; rounded, the least
// downwards and the most upwards.
type YarnAmount struct {
	Unit               grammar.Unit // Grams, Metres or Balls; of a drafted figure the draft's own
	Quantity           int          // the drafted figure, -1
	From               []*big.Rat   // what the draft says, one a drafted size, nil unless DraftedFigure
	About, Least, Most []*big.Rat
}

// What a figure may be off by. A weighed swatch is as sure as its scales and its tape, see unsure; seams, ends and the swatch
// itself take a tenth more (common practice, no source). A draft's own figure is given to within a tenth either way (common
// practice, no source). An estimate for plain knit is off by a tenth either way in yarns that were measured, and ribs and cables
// take more than plain knit (Knitting & Crocheting All-in-One For Dummies): a quarter more at most (common practice, no source).
var (
	tenthLess   = big.NewRat(9, 10)
	tenthMore   = big.NewRat(11, 10)
	quarterMore = big.NewRat(5, 4)
)

// plainKnit is Ks of fully relaxed plain knit: stitches to an area times the square of the yarn in a stitch.
var plainKnit = big.NewRat(231, 10)

// yarn scales what the draft says of yarn, and works out how much the pieces take.
func (w *writer) yarn() {
	y := &Yarn{Basis: EstimatedLoops}
	for _, q := range w.d.Quantities {
		if q.Kind == dsl.Yarn {
			y.Basis = DraftedFigure
			y.Amounts = append(y.Amounts, w.yarnSaid(q))
		}
	}
	if y.Basis == DraftedFigure && len(w.c.solved) > 0 {
		was, _ := w.yarnOf(0, true)
		is, _ := w.yarnOf(0, false)
		a, b := w.area(0, true), w.area(0, false)
		if was.Sign() > 0 && a.Sign() > 0 && b.Sign() > 0 {
			y.Denser = quo(quo(is, was), quo(b, a))
			y.Denser.Mul(y.Denser, y.Denser)
		}
	}
	for i, s := range w.swatches {
		if s != nil && s.Weight != nil && s.Wide != nil && s.Tall != nil {
			said := y.Amounts
			*y = Yarn{Basis: WeighedSwatch, Swatch: s, Amounts: w.weighed(i, s)}
			w.twoFigures(said, y.Amounts[0])
			break
		}
	}
	if y.Basis == EstimatedLoops {
		y.Amounts = w.estimated()
	}
	if len(y.Amounts) > 0 {
		w.c.Yarn = y
	}
}

// twoFigures warns where the draft's own figure, scaled, and that of a weighed swatch cannot both be right: not even what the one
// takes at most reaches what the other takes at least.
func (w *writer) twoFigures(said []YarnAmount, weighed YarnAmount) {
	for t, target := range w.c.Targets {
		about, least, most := new(big.Rat), new(big.Rat), new(big.Rat)
		for i := range said {
			a := &said[i]
			if a.Unit != grammar.Grams && a.Unit != grammar.Ounces {
				return // nobody knows what a ball or a metre of the draft's yarn weighs
			}
			per := dsl.YarnPer(a.Unit)
			about.Add(about, mul(a.About[t], per))
			least.Add(least, mul(a.Least[t], per))
			most.Add(most, mul(a.Most[t], per))
		}
		if len(said) == 0 || most.Cmp(weighed.Least[t]) >= 0 && weighed.Most[t].Cmp(least) >= 0 {
			continue
		}
		in := ""
		if len(w.c.Targets) > 1 {
			in = " in size " + target.Name
		}
		w.warn("Two figures for the yarn disagree%s: the weighed swatch comes to about %s g, the draft's own figure at this gauge to %s g. Trust the swatch, which is your yarn as you knit it, "+
			"once its weight and its size have been looked at again; the draft's holds for a yarn as long to the gram as the draft's, and may have pieces in it that are not marked. Until you know, count on the larger.",
			in, decimal(weighed.About[t], 0), decimal(dsl.RoundTo(about, rat(5)), 0))
		return
	}
}

// yarnSaid puts the scaled figure in its place, and gives it with its range.
func (w *writer) yarnSaid(q *dsl.Quantity) YarnAmount {
	step := granularity(q)
	a := YarnAmount{Unit: q.Value.Unit, Quantity: q.ID}
	for s := range w.d.Sizes {
		a.From = append(a.From, numberAt(w.d, q, s))
	}
	for t := range w.c.Targets {
		said, _ := w.d.Stated(q, w.c.Targets[t])
		y := said
		was, ok := w.yarnOf(t, true)
		is, also := w.yarnOf(t, false)
		if ok && also && is.Cmp(was) != 0 {
			ratio := quo(is, was)
			// The rounding of counts moves the area by as much as a fortieth, and nobody weighs yarn so exactly.
			if ratio.Cmp(big.NewRat(39, 40)) <= 0 || ratio.Cmp(big.NewRat(41, 40)) >= 0 || w.moved(t) {
				y = mul(said, ratio)
				if q.Value.Unit == grammar.Balls {
					// Whole balls, rounded up; a tenth more does not open another.
					w.out[q.ID][t] = Up(sub(y, big.NewRat(1, 10)), rat(1))
				} else {
					w.out[q.ID][t] = dsl.RoundTo(y, step)
				}
			}
		}
		about := w.out[q.ID][t]
		if about == nil {
			about = said
		}
		if q.Value.Unit == grammar.Balls {
			step = rat(1)
		}
		a.add(about, Down(mul(y, tenthLess), step), Up(mul(y, tenthMore), step))
	}
	return a
}

func (a *YarnAmount) add(about, least, most *big.Rat) {
	a.About, a.Least, a.Most = append(a.About, about), append(a.Least, least), append(a.Most, most)
}

// weighed is grams from a swatch of fabric f, and metres and balls where its card says what a ball is.
func (w *writer) weighed(f int, s *dsl.Swatch) []YarnAmount {
	off := add(unsure(s), rat(1))
	lying := w.c.Lying()
	var about, least, most []*big.Rat
	for t := range w.c.Targets {
		x := new(big.Rat)
		for i, area := range w.areas(t) {
			per := quo(s.Weight, mul(s.Wide, s.Tall))
			if o := w.swatches[w.d.Fabrics[i].Of]; o != nil && o.Weight != nil && o.Wide != nil && o.Tall != nil {
				per = quo(o.Weight, mul(o.Wide, o.Tall))
			} else if i != f {
				per.Mul(per, quo(root(density(lying[i])), root(density(lying[f]))))
			}
			x.Add(x, mul(area, per))
		}
		about, least, most = append(about, x), append(least, quo(x, off)), append(most, mul(mul(x, off), tenthMore))
	}
	out := []YarnAmount{amount(grammar.Grams, about, least, most)}
	if s.Ball == nil {
		return out
	}
	if s.Runs != nil {
		per := quo(s.Runs, s.Ball)
		out = append(out, amount(grammar.Metres, times(about, per), times(least, per), times(most, per)))
	}
	return append(out, balls(about, least, most, s.Ball))
}

// unsure is by how much the weight of a square centimetre of a swatch may be off, as a share: half of the last place that the
// weight is written to, and half of the half centimetre a tape is read to on each side.
func unsure(s *dsl.Swatch) *big.Rat {
	place := big.NewRat(1, 2)
	if v := s.Block.Swatch.Weighs; v != nil {
		for x := v.Nums[0].Val; !x.IsInt() && place.Cmp(big.NewRat(1, 1000)) > 0; x = mul(x, rat(10)) {
			place.Quo(place, rat(10))
		}
		place.Mul(place, dsl.YarnPer(v.Unit))
	}
	out := quo(place, s.Weight)
	for _, side := range []*big.Rat{s.Wide, s.Tall} {
		out.Add(out, quo(big.NewRat(1, 4), side))
	}
	return out
}

// estimated is metres of yarn from the stitches alone, and grams and balls where a card says what a ball is.
func (w *writer) estimated() []YarnAmount {
	var about, least, most []*big.Rat
	for t := range w.c.Targets {
		x, ok := w.yarnOf(t, false)
		if !ok {
			return nil
		}
		x = quo(mul(x, root(plainKnit)), rat(100))
		about, least, most = append(about, x), append(least, mul(x, tenthLess)), append(most, mul(x, quarterMore))
	}
	out := []YarnAmount{amount(grammar.Metres, about, least, most)}
	for _, s := range w.swatches {
		if s == nil || s.Runs == nil {
			continue
		}
		if s.Ball != nil {
			per := quo(s.Ball, s.Runs)
			out = append(out, amount(grammar.Grams, times(about, per), times(least, per), times(most, per)))
		}
		return append(out, balls(about, least, most, s.Runs))
	}
	return out
}

// amount rounds a figure as nobody measures yarn more finely: from a hundred on to tens, below to fives, and small ones to whole ones.
func amount(u grammar.Unit, about, least, most []*big.Rat) YarnAmount {
	a := YarnAmount{Unit: u, Quantity: -1}
	for t := range about {
		step := rat(10)
		if about[t].Cmp(rat(100)) < 0 {
			step = rat(5)
		}
		if about[t].Cmp(rat(20)) < 0 {
			step = rat(1)
		}
		a.add(dsl.RoundTo(about[t], step), Down(least[t], step), Up(most[t], step))
	}
	return a
}

// balls are whole balls of so much each, rounded up.
func balls(about, least, most []*big.Rat, each *big.Rat) YarnAmount {
	a := YarnAmount{Unit: grammar.Balls, Quantity: -1}
	for t := range about {
		a.add(Up(quo(about[t], each), rat(1)), Up(quo(least[t], each), rat(1)), Up(quo(most[t], each), rat(1)))
	}
	return a
}

// yarnOf is what the yarn of all pieces of a target goes with, as drafted or as converted: over the fabrics, area times the square
// root of the stitches to a square centimetre. It is not ok where nothing is worked. It is worked out once.
func (w *writer) yarnOf(t int, drafted bool) (x *big.Rat, ok bool) {
	key := spun{t, drafted}
	x = w.spun[key]
	if x == nil {
		x = w.spin(t, drafted)
		w.spun[key] = x
	}
	return x, x.Sign() > 0
}

// spun is what yarnOf was asked for.
type spun struct {
	t       int
	drafted bool
}

func (w *writer) spin(t int, drafted bool) *big.Rat {
	s := w.c.solved[t]
	at := func(v func(int) int64, g []dsl.Gauge) *big.Rat {
		sum := new(big.Rat)
		for i, area := range s.run.Areas(v, g) {
			if area.Sign() != 0 {
				sum.Add(sum, mul(area, root(density(g[i]))))
			}
		}
		return sum
	}
	if drafted {
		of := func(size int) *big.Rat {
			return at(func(q int) int64 { return w.d.Quantities[q].Drafted[size] }, w.old)
		}
		if s.target.Lo == s.target.Hi {
			return of(s.target.Lo)
		}
		return s.target.Between(of(s.target.Lo), of(s.target.Hi))
	}
	return at(w.at(t), w.c.Lying())
}

// areas is the square centimetres of all pieces of a target as converted, fabric by fabric.
func (w *writer) areas(t int) []*big.Rat { return w.c.solved[t].run.Areas(w.at(t), w.c.Lying()) }

// area is the square centimetres of all pieces of a target, as drafted or as converted.
func (w *writer) area(t int, drafted bool) *big.Rat {
	s := w.c.solved[t]
	if !drafted {
		return s.run.Area(w.at(t), w.c.Lying())
	}
	at := func(size int) *big.Rat {
		return s.run.Area(func(q int) int64 { return w.d.Quantities[q].Drafted[size] }, w.old)
	}
	return s.target.Between(at(s.target.Lo), at(s.target.Hi))
}

// granularity is what an amount of yarn is rounded to: the largest of 10, 5 and 1 that all drafted amounts are multiples of.
func granularity(q *dsl.Quantity) *big.Rat {
	for _, s := range []int64{10, 5} {
		ok := true
		for _, n := range q.Value.Nums {
			ok = ok && new(big.Rat).Quo(n.Val, rat(s)).IsInt()
		}
		if ok {
			return rat(s)
		}
	}
	return rat(1)
}

// density is the stitches to a square centimetre.
func density(g dsl.Gauge) *big.Rat { return mul(g.Stitches, g.Rows) }

// root is the square root of x ≥ 0 to six decimals, downwards.
func root(x *big.Rat) *big.Rat {
	const micro = 1_000_000
	n := new(big.Int).Mul(x.Num(), big.NewInt(micro*micro))
	return new(big.Rat).SetFrac(n.Sqrt(n.Quo(n, x.Denom())), big.NewInt(micro))
}

// Down is the multiple of a step that is not above x.
func Down(x, step *big.Rat) *big.Rat {
	n := quo(x, step)
	return mul(new(big.Rat).SetInt(new(big.Int).Div(n.Num(), n.Denom())), step)
}

// Up is the multiple of a step that is not below x.
func Up(x, step *big.Rat) *big.Rat {
	n := Down(new(big.Rat).Neg(x), step)
	return n.Neg(n)
}

func times(list []*big.Rat, k *big.Rat) []*big.Rat {
	out := make([]*big.Rat, len(list))
	for i, x := range list {
		out[i] = mul(x, k)
	}
	return out
}

func add(a, b *big.Rat) *big.Rat { return new(big.Rat).Add(a, b) }
func sub(a, b *big.Rat) *big.Rat { return new(big.Rat).Sub(a, b) }
func mul(a, b *big.Rat) *big.Rat { return new(big.Rat).Mul(a, b) }
func quo(a, b *big.Rat) *big.Rat { return new(big.Rat).Quo(a, b) }
