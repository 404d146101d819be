package dsl

import (
	"fmt"
	"math/big"

	"gaugewright/grammar"
)

// Card is a swatch card: what a knitter measured, one Swatch for each block of the file, in its order.
type Card struct {
	File     *grammar.File
	Swatches []Swatch
}

// Swatch is one piece of cloth as it was measured. A state that was not measured is nil.
type Swatch struct {
	Block    *grammar.Block
	Fabric   grammar.Word
	Needles  string // as written: `4.5 mm`; "" where the card does not say
	Flat     bool
	Round    bool
	Unwashed *Measured
	Washed   *Measured
	Hung     *Measured // hanging, with the weight of the piece on it
	Weight   *big.Rat  // grams
	Wide     *big.Rat  // centimetres
	Tall     *big.Rat  // centimetres
	Ball     *big.Rat  // grams in a ball of its yarn
	Runs     *big.Rat  // metres of yarn in a ball
}

// Measured is the cloth in one state; what was not read is nil.
type Measured struct {
	Stitches, Rows *Count
}

// Count is how long stitches (across) or rows (up) of a cloth are, from one reading or several.
//
// A reading of n stitches over a length L says that a stitch is L/n long. Per is the mean of that over the readings, in
// centimetres, exact; the gauge is its inverse.
//
// Off is how far the cloth may lie from Per, either way, as a share of it: the larger of
//
//   - what the readings say of themselves: two standard errors of their mean, 2·s/√k with the sample standard deviation s of
//     k readings (about nineteen times in twenty), and
//   - what anyone can misread: half a stitch (or row) in each reading. For one reading of n stitches that is ½/n; for k of
//     them, as misreadings fall either way, √(Σ(½/n)²)/k.
//
// The second keeps readings that happen to be alike from seeming certain. Student's factor in place of two would make two
// readings that agree less sure than one of them alone (it is 12.7 there), as if nothing were known of how well a tape is
// read; the half stitch is what is known. Off is rounded up to nine decimals, everything before it is exact.
type Count struct {
	Span     grammar.Span // of the first reading
	Readings []Reading
	Per      *big.Rat // centimetres a stitch or row
	Off      *big.Rat // 0.01 is one per cent
}

// Reading is one count over one length.
type Reading struct {
	Count *big.Rat
	Cm    *big.Rat
}

// Gauge is the stitches or rows to one centimetre, exact.
func (c *Count) Gauge() *big.Rat { return new(big.Rat).Inv(c.Per) }

// Bounds is between which lengths something meant to measure x comes out, when its stitches were counted by this gauge.
func (c *Count) Bounds(x *big.Rat) (least, most *big.Rat) {
	by := new(big.Rat).Mul(x, c.Off)
	return new(big.Rat).Sub(x, by), new(big.Rat).Add(x, by)
}

// sureEnough is the error above which a swatch is too small to trust: a centimetre in a metre round the chest.
var sureEnough = big.NewRat(1, 100)

// Trusted says whether the gauge is known to better than one per cent.
func (c *Count) Trusted() bool { return c.Off.Cmp(sureEnough) < 0 }

// Width is over how many whole centimetres the same readings would have to be taken for the error to fall under one per
// cent. An error of reading is as large over a wide swatch as over a narrow one, so its share falls as the width grows.
func (c *Count) Width() *big.Rat {
	mean := new(big.Rat)
	for _, r := range c.Readings {
		mean.Add(mean, r.Cm)
	}
	mean.Quo(mean, big.NewRat(int64(len(c.Readings)), 1))
	w := mean.Mul(mean, new(big.Rat).Quo(c.Off, sureEnough))
	n := new(big.Int).Div(w.Num(), w.Denom())
	return new(big.Rat).SetInt(n.Add(n, big.NewInt(1)))
}

// Counts is the state whose gauge counts are worked out by: washed, else unwashed; nil where the swatch was only hung.
func (s *Swatch) Counts() *Measured {
	if s.Washed != nil {
		return s.Washed
	}
	return s.Unwashed
}

// Hang is how long the cloth is hanging with its weight on it for each length of it lying flat, in the state that counts are worked
// out by; nil where that was not measured, or where it did not stretch.
func (s *Swatch) Hang() *big.Rat {
	now := s.Counts()
	if now == nil || now.Rows == nil || s.Hung == nil || s.Hung.Rows == nil {
		return nil
	}
	x := new(big.Rat).Quo(s.Hung.Rows.Per, now.Rows.Per)
	if x.Cmp(big.NewRat(1, 1)) <= 0 {
		return nil
	}
	return x
}

// Change is the dimensional change from one state to another in per cent, as ISO 5077:2007 has it: (after − before)/before ×
// 100, so that a shrinkage is negative. Width and length are told apart; one is nil where either state was not measured
// in that direction.
func Change(before, after *Measured) (width, length *big.Rat) {
	one := func(b, a *Count) *big.Rat {
		if b == nil || a == nil {
			return nil
		}
		x := new(big.Rat).Quo(a.Per, b.Per)
		return x.Mul(x.Sub(x, big.NewRat(1, 1)), big.NewRat(100, 1))
	}
	if before == nil || after == nil {
		return nil, nil
	}
	return one(before.Stitches, after.Stitches), one(before.Rows, after.Rows)
}

// Ratio is the row gauge divided by the stitch gauge, nil where one of them was not measured.
func (m *Measured) Ratio() *big.Rat {
	if m == nil || m.Stitches == nil || m.Rows == nil {
		return nil
	}
	return new(big.Rat).Quo(m.Stitches.Per, m.Rows.Per)
}

// Stocking stitch: Kc/Kw = 5.5/4.2 ≈ 1.31 for fully relaxed plain knit (constants as in the GATE Textile Engineering
// examination 2015, question 54; the ratio is called the loop shape factor). Hand-knitted cloth lies between 1.2 and 1.5.
// Beyond the outer bounds no cloth of knitted loops is known to lie, with slipped and brioche stitches allowed for.
var (
	LoopShape     = big.NewRat(55, 42)
	ratioLow      = big.NewRat(12, 10)
	ratioHigh     = big.NewRat(15, 10)
	ratioLeast    = big.NewRat(1, 2)
	ratioMost     = big.NewRat(3, 1)
	mostInWashing = big.NewRat(2, 1)
)

// Ordinary says whether a ratio of rows to stitches is usual for stocking stitch: 1.2 to 1.5.
func Ordinary(ratio *big.Rat) bool { return ratio.Cmp(ratioLow) >= 0 && ratio.Cmp(ratioHigh) <= 0 }

// ReadCard gives a swatch card its meaning. With an error among the diagnostics the card is nil: no swatch block, a swatch
// without a fabric or without stitches, a gauge no hand-knitted cloth has, a ratio of rows to stitches below ½ or above 3,
// or washing that made the cloth less than half or more than twice as large. A ratio out of the ordinary for stocking
// stitch and a reading wider than the swatch are warnings.
func ReadCard(f *grammar.File) (*Card, grammar.Diagnostics) {
	var r cardReader
	c := &Card{File: f}
	for _, b := range f.Blocks {
		switch {
		case b.Kind == grammar.DraftBlock:
			r.say(grammar.Error, b.Span, "a draft block on a swatch card", "give the swatches a file of their own, and name it with the draft")
		case b.Kind == grammar.SwatchBlock && b.Swatch == nil:
			r.say(grammar.Error, b.Span, "this swatch block is empty", "write `fabric main, needles 4.5 mm, flat` and below it `washed: 36 sts over 17.0 cm; 48 rows over 16.2 cm`")
		case b.Kind == grammar.SwatchBlock:
			one := &cardReader{} // a slip in one swatch is no reason to look less closely at the next
			c.Swatches = append(c.Swatches, one.swatch(b))
			r.diags = append(r.diags, one.diags...)
		}
	}
	if len(c.Swatches) == 0 && !r.diags.Has(grammar.Error) {
		r.say(grammar.Error, grammar.Span{}, "this file has no swatch block", "put what you measured in a fenced block marked swatch: `fabric main, needles 4.5 mm, flat` and `washed: 36 sts over 17.0 cm; 48 rows over 16.2 cm`")
	}
	r.diags.Sort()
	if r.diags.Has(grammar.Error) {
		return nil, r.diags
	}
	return c, r.diags
}

type cardReader struct{ diags grammar.Diagnostics }

func (r *cardReader) say(sev grammar.Severity, at grammar.Span, summary, wayOut string, related ...grammar.Related) {
	r.diags = append(r.diags, grammar.Diagnostic{Severity: sev, Span: at, Summary: summary, WayOut: wayOut, Related: related})
}

func (r *cardReader) swatch(b *grammar.Block) Swatch {
	g := b.Swatch
	s := Swatch{Block: b, Fabric: g.Fabric, Needles: g.Needles, Flat: g.Flat, Round: g.Round}
	if g.Fabric.Key == "" {
		r.say(grammar.Error, b.Span, "which fabric is this a swatch of?", "begin the block with `fabric main, needles 4.5 mm, flat`")
	}
	s.Unwashed = r.measured(g.Unwashed)
	s.Washed = r.measured(g.Washed)
	s.Hung = r.measured(g.Hung)
	s.Wide, s.Tall = r.length(g.Wide), r.length(g.Tall)
	s.Weight, s.Ball, s.Runs = YarnOf(g.Weighs), YarnOf(g.Ball), YarnOf(g.Runs)
	if r.diags.Has(grammar.Error) {
		return s
	}
	now := s.Counts()
	switch {
	case now == nil && s.Hung == nil:
		r.say(grammar.Error, b.Span, "nothing was measured on this swatch", "add `washed: 36 sts over 17.0 cm; 48 rows over 16.2 cm`")
		return s
	case now == nil:
		r.say(grammar.Error, b.Span, "this swatch was only measured hanging", "add readings of it lying flat: `washed: 36 sts over 17.0 cm; 48 rows over 16.2 cm`")
		return s
	case now.Stitches == nil:
		r.say(grammar.Error, now.Rows.Span, "rows were read here, but no stitches, so no width can be worked out", "add how wide a number of stitches is: `washed: 36 sts over 17.0 cm`")
		return s
	}
	// Cloth that no needles make is a slip of the pen; of several states the first is told.
	for _, m := range []*Measured{s.Unwashed, s.Washed, s.Hung} {
		ratio := m.Ratio()
		if ratio == nil || ratio.Cmp(ratioLeast) >= 0 && ratio.Cmp(ratioMost) <= 0 {
			continue
		}
		r.say(grammar.Error, m.Rows.Span, fmt.Sprintf("%s rows to one stitch of the same length cannot be: knitted cloth has between ½ and 3", ratio.FloatString(2)),
			"count stitches across and rows up, and look whether one was taken for the other", grammar.Related{Span: m.Stitches.Span, Text: "the stitches are here"})
		return s
	}
	if w, l := Change(s.Unwashed, s.Washed); w != nil || l != nil {
		r.washing(s.Unwashed.Stitches, s.Washed.Stitches, "wide")
		r.washing(s.Unwashed.Rows, s.Washed.Rows, "long")
	}
	if r.diags.Has(grammar.Error) {
		return s
	}
	if s.Hung != nil && s.Hung.Rows != nil && now.Rows != nil {
		switch by := new(big.Rat).Quo(s.Hung.Rows.Per, now.Rows.Per); {
		case by.Cmp(mostInWashing) > 0:
			r.say(grammar.Error, s.Hung.Rows.Span, "hanging, the cloth is more than twice as long as lying flat, which cannot be right",
				"look at the counts and at the units: a number of rows and the length it takes belong together", grammar.Related{Span: now.Rows.Span, Text: "lying flat it was this"})
			return s
		case by.Cmp(big.NewRat(1, 1)) < 0:
			r.say(grammar.Warning, s.Hung.Rows.Span, "hanging, the cloth is shorter than lying flat: no allowance is made for its weight",
				"let it hang for a night with the weight of the piece on it, and measure again", grammar.Related{Span: now.Rows.Span, Text: "lying flat it was this"})
		}
	}
	if ratio := now.Ratio(); ratio != nil && !Ordinary(ratio) {
		way := "measure again if this is stocking stitch; garter stitch, ribs and colourwork may lie elsewhere"
		if Ordinary(new(big.Rat).Inv(ratio)) {
			way = "look whether rows were read where stitches were meant: the other way round it would be ordinary"
		}
		r.say(grammar.Warning, now.Rows.Span, fmt.Sprintf("%s rows to a stitch is out of the ordinary for stocking stitch, where it is 1.2 to 1.5", ratio.FloatString(2)), way,
			grammar.Related{Span: now.Stitches.Span, Text: "the stitches are here"})
	}
	r.within(now.Stitches, s.Wide, "wide")
	r.within(now.Rows, s.Tall, "tall")
	return s
}

// YarnOf is an amount of yarn in grams or metres, balls as they are; nil where nothing is said.
func YarnOf(v *grammar.Value) *big.Rat {
	if v == nil {
		return nil
	}
	return new(big.Rat).Mul(v.Nums[0].Val, YarnPer(v.Unit))
}

// YarnPer is how many grams or metres one of a unit of yarn is; 1 for balls.
func YarnPer(u grammar.Unit) *big.Rat {
	switch u {
	case grammar.Ounces:
		return big.NewRat(28349523125, 1000000000) // exactly 28.349523125 g (international pound, 1959)
	case grammar.Yards:
		return big.NewRat(9144, 10000) // exactly 0.9144 m (international yard, 1959)
	}
	return big.NewRat(1, 1)
}

// washing refuses a change that no washing makes: less than half or more than twice as large.
func (r *cardReader) washing(before, after *Count, how string) {
	if before == nil || after == nil {
		return
	}
	by := new(big.Rat).Quo(after.Per, before.Per)
	related := grammar.Related{Span: before.Span, Text: "before washing it was this"}
	const way = "look at the counts and at the units: a number of stitches and the length it takes belong together"
	switch {
	case by.Cmp(new(big.Rat).Inv(mostInWashing)) < 0:
		r.say(grammar.Error, after.Span, fmt.Sprintf("after washing the cloth is less than half as %s as before, which cannot be right", how), way, related)
	case by.Cmp(mostInWashing) > 0:
		r.say(grammar.Error, after.Span, fmt.Sprintf("after washing the cloth is more than twice as %s as before, which cannot be right", how), way, related)
	}
}

// within warns of a reading that is longer than the swatch it was taken on.
func (r *cardReader) within(c *Count, size *big.Rat, how string) {
	if c == nil || size == nil {
		return
	}
	for _, x := range c.Readings {
		if x.Cm.Cmp(size) > 0 {
			r.say(grammar.Warning, c.Span, fmt.Sprintf("%s cm were measured on a swatch that is %s cm %s", trim(x.Cm), trim(size), how), "one of the two is a slip; leave out the edge stitches when you measure")
			return
		}
	}
}

func (r *cardReader) length(v *grammar.Value) *big.Rat {
	if v == nil {
		return nil
	}
	x, err := cm(v, 0)
	if err != nil {
		r.say(grammar.Error, v.Span, err.Error(), "write it like `25 cm wide`")
		return nil
	}
	return x
}

// measured is what the readings of one state come to, nil where there are none.
func (r *cardReader) measured(list []grammar.Reading) *Measured {
	m := &Measured{}
	for i := range list {
		into := &m.Stitches
		if list[i].Count.Unit.IsRows() {
			into = &m.Rows
		}
		if *into == nil {
			*into = &Count{Span: list[i].Span}
		}
		r.add(*into, &list[i])
	}
	if m.Stitches == nil && m.Rows == nil || r.diags.Has(grammar.Error) {
		return nil
	}
	for _, c := range []*Count{m.Stitches, m.Rows} {
		if c != nil {
			c.settle()
		}
	}
	return m
}

// add enters a reading, once for each length it was measured over.
func (r *cardReader) add(c *Count, from *grammar.Reading) {
	n := from.Count.Nums[0].Val
	if n.Cmp(big.NewRat(MaxCount, 1)) > 0 || n.Sign() <= 0 {
		r.say(grammar.Error, from.Count.Span, fmt.Sprintf("a swatch of %s is none that was knitted", from.Count.Nums[0].Text), "write `36 sts over 17.0 cm`")
		return
	}
	for _, v := range from.Over {
		over, err := cm(v, 0)
		if err == nil && over.Sign() <= 0 {
			err = fmt.Errorf("a reading over a width of zero says nothing")
		}
		if err == nil {
			per := new(big.Rat).Quo(n, over)
			switch {
			case per.Cmp(big.NewRat(maxGauge, 10)) > 0:
				err = fmt.Errorf("%s over that length is finer than any hand-knitted cloth: at most %d to 10 cm are read", from.Count.Nums[0].Text, maxGauge)
			case per.Cmp(big.NewRat(1, 100)) < 0:
				err = fmt.Errorf("%s over that length is coarser than any hand-knitted cloth", from.Count.Nums[0].Text)
			}
		}
		if err != nil {
			r.say(grammar.Error, v.Span, err.Error(), "write it like `36 sts over 16.4 cm, 16.5 cm`, and look at the unit")
			return
		}
		c.Readings = append(c.Readings, Reading{n, over})
	}
}

// settle works out the mean of the readings and how sure it is.
func (c *Count) settle() {
	k := big.NewRat(int64(len(c.Readings)), 1)
	mean, misread := new(big.Rat), new(big.Rat)
	for _, r := range c.Readings {
		mean.Add(mean, new(big.Rat).Quo(r.Cm, r.Count))
		h := new(big.Rat).Quo(big.NewRat(1, 2), r.Count)
		misread.Add(misread, h.Mul(h, h))
	}
	c.Per = mean.Quo(mean, k)
	misread.Quo(misread, new(big.Rat).Mul(k, k)) // squared, as a share of Per
	if v := c.Variance(); v != nil {
		// (2·s/√k)² / Per²
		v.Mul(v, big.NewRat(4, 1))
		v.Quo(v, k)
		v.Quo(v, new(big.Rat).Mul(c.Per, c.Per))
		if v.Cmp(misread) > 0 {
			misread = v
		}
	}
	c.Off = rootUp(misread)
}

// Variance is the sample variance of the readings, in square centimetres a stitch; nil for a single reading.
func (c *Count) Variance() *big.Rat {
	if len(c.Readings) < 2 {
		return nil
	}
	sum := new(big.Rat)
	for _, r := range c.Readings {
		d := new(big.Rat).Quo(r.Cm, r.Count)
		d.Sub(d, c.Per)
		sum.Add(sum, d.Mul(d, d))
	}
	return sum.Quo(sum, big.NewRat(int64(len(c.Readings)-1), 1))
}

// rootUp is the square root of x ≥ 0 to nine decimals; where it does not end there, the next one above.
func rootUp(x *big.Rat) *big.Rat {
	const nano = 1_000_000_000
	n := new(big.Int).Mul(x.Num(), new(big.Int).Exp(big.NewInt(nano), big.NewInt(2), nil))
	q, rest := new(big.Int).QuoRem(n, x.Denom(), new(big.Int))
	root := new(big.Int).Sqrt(q)
	if rest.Sign() != 0 || new(big.Int).Mul(root, root).Cmp(q) != 0 {
		root.Add(root, big.NewInt(1))
	}
	return new(big.Rat).SetFrac(root, big.NewInt(nano))
}

// ForFabric is the swatch of a fabric by its name key; nil where the card has none. Two of one fabric are an error that
// shows both: nobody could say which of them the garment will be knitted like.
func (c *Card) ForFabric(key string) (*Swatch, *grammar.Diagnostic) {
	var found *Swatch
	for i := range c.Swatches {
		s := &c.Swatches[i]
		if s.Fabric.Key != key {
			continue
		}
		if found != nil {
			return nil, &grammar.Diagnostic{Severity: grammar.Error, Span: s.Fabric.Span, Summary: "two swatches of " + s.Fabric.Text + " on one card: which one will it be knitted like?",
				Related: []grammar.Related{{Span: found.Fabric.Span, Text: "the first one is here"}},
				WayOut:  "put the one you have decided on in a card of its own, or give the other its own fabric name"}
		}
		found = s
	}
	return found, nil
}

// OfDraft is the swatch of each fabric of a draft, nil for those the card does not have. A swatch of a fabric that the draft
// lacks is an error at its place on the card.
func (c *Card) OfDraft(d *Draft) ([]*Swatch, grammar.Diagnostics) {
	var diags grammar.Diagnostics
	var names []string
	out := make([]*Swatch, len(d.Fabrics))
	known := map[string]bool{}
	for i, f := range d.Fabrics {
		key := grammar.Key(f.Name)
		names = append(names, f.Name)
		known[key] = true
		s, bad := c.ForFabric(key)
		if bad != nil {
			diags = append(diags, *bad)
		}
		out[i] = s
	}
	for _, s := range c.Swatches {
		if known[s.Fabric.Key] {
			continue
		}
		way := "its fabrics are " + andList(names)
		if len(names) == 1 {
			way = "its only fabric is " + names[0]
		}
		if near := grammar.Nearest(s.Fabric.Key, names); near != "" {
			way = "did you mean " + near + "? " + "Else give the swatch a card of its own"
		}
		diags = append(diags, grammar.Diagnostic{Severity: grammar.Error, Span: s.Fabric.Span, Summary: "the draft has no fabric called " + s.Fabric.Text, WayOut: way})
	}
	diags.Sort()
	return out, diags
}
