package rewrite

import (
	"fmt"
	"math/big"
	"strings"

	"gaugewright/dsl"
)

// washing settles how much longer each fabric is on the needles than when it is finished, where a card is at hand: as the card
// measured it; else as the draft has it, by the unwashed gauge of the fabric; else as the first fabric that was measured,
// which is an assumption. Of cloth that was never washed nothing is known.
func (c *converter) washing() {
	if len(c.swatches) == 0 {
		return
	}
	first, known := -1, false
	for i, f := range c.d.Fabrics {
		g := &c.c.Gauges[i]
		s := c.swatches[i]
		switch {
		case s != nil && s.Unwashed != nil && s.Washed != nil && s.Unwashed.Rows != nil && s.Washed.Rows != nil:
			g.Stretch = new(big.Rat).Quo(s.Unwashed.Rows.Per, s.Washed.Rows.Per)
			if first < 0 {
				first = i
			}
		case f.Unwashed != nil && (s == nil || s.Washed != nil):
			g.Stretch = new(big.Rat).Quo(c.old[i].Rows, f.Unwashed.Rows)
			c.assume("On the needles %s is taken to be as much longer or shorter than washed as the draft has it.", f.Name)
		}
		known = known || g.Stretch != nil
	}
	if !known {
		c.assume("The card does not say how long the cloth is both before and after washing, so lengths on the needles are not given.")
	}
	for i, f := range c.d.Fabrics {
		g := &c.c.Gauges[i]
		switch {
		case g.Stretch != nil || !known:
		case first >= 0 && (c.swatches[i] == nil || c.swatches[i].Washed != nil):
			g.Stretch = c.c.Gauges[first].Stretch
			c.assume("The washing of %s was not measured: it is taken to change in length as %s does.", f.Name, c.d.Fabrics[first].Name)
		default:
			c.assume("How %s changes in washing is not known, so lengths on the needles are not given where it has a part in them.", f.Name)
		}
	}
}

// unwashed is the gauge that a card gives for a fabric before washing, nil where it does not.
func (c *converter) unwashed(i int) *dsl.Gauge {
	if len(c.swatches) == 0 || c.swatches[i] == nil {
		return nil
	}
	m := c.swatches[i].Unwashed
	if m == nil || m.Stitches == nil || m.Rows == nil {
		return nil
	}
	return &dsl.Gauge{Stitches: m.Stitches.Gauge(), Rows: m.Rows.Gauge()}
}

// hanging is by how much each fabric stretches lengthwise when it hangs, nil where it does not: as the card measured it, and of
// fabrics that were not swatched as the first that was. Everything is knitted as much shorter, by its row gauge, and nobody is
// left to find that out.
func (c *converter) hanging(asked []*AskedGauge) []*big.Rat {
	out := make([]*big.Rat, len(asked))
	var by *big.Rat
	first, any := true, false
	for i, a := range asked {
		if a == nil {
			continue
		}
		if a.Swatch != nil && a.Gauge.Rows != nil {
			out[i] = a.Swatch.Hang()
		}
		if first {
			by, first = out[i], false
		}
		any = any || out[i] != nil
	}
	for i, f := range c.d.Fabrics {
		switch {
		case asked[i] == nil:
			out[i] = by // its gauge changes as that one's does
		case out[i] != nil:
			more := new(big.Rat).Sub(out[i], big.NewRat(1, 1))
			c.assume("Hanging with its weight on it, %s grew %s %% longer on the card. All lengths in it are those it hangs to, and it is knitted as much shorter: %s are counted where %s lie flat. The allowance is made in full everywhere, though a hem carries less than a shoulder.",
				f.Name, decimal(more.Mul(more, big.NewRat(100, 1)), 1), c.rowsText(i, c.now[i].Rows), c.rowsText(i, asked[i].Gauge.Rows))
		case any:
			c.assume("%s was not measured hanging, so no allowance is made in it.", upper(f.Name))
		}
	}
	return out
}

// Lying is the gauge of each fabric lying flat, as its area and weight are measured: that of the result, but for cloth that hangs.
func (c *Conversion) Lying() []dsl.Gauge {
	out := append([]dsl.Gauge(nil), c.Fabrics...)
	for i := range out {
		if h := c.Gauges[i].Hang; h != nil {
			out[i].Rows = new(big.Rat).Mul(out[i].Rows, h)
		}
	}
	return out
}

// rowsText is a row gauge over the width that the draft states it over.
func (c *converter) rowsText(i int, rows *big.Rat) string {
	word := "rows"
	if c.d.Fabrics[i].Rounds {
		word = "rounds"
	}
	return fmt.Sprintf("%s %s to %s", decimal(new(big.Rat).Mul(rows, c.over(i)), 2), word, strings.TrimSpace(c.d.File.Text(c.d.Fabrics[i].Def.Gauge.Over.Span)))
}

// onNeedles is the rows of a height, how long they are before washing and how long lying flat, in centimetres; nil where that is
// not known, and the last where nothing hangs.
func (w *writer) onNeedles(l *dsl.LengthRule, t int) (rows, cm, flat *big.Rat) {
	rows, cm = new(big.Rat), new(big.Rat)
	lying, hangs := new(big.Rat), false
	parts := append(append(dsl.Height(nil), l.Before...), dsl.FabricRows{Fabric: l.Fabric, Rows: dsl.Lin{Terms: []dsl.Term{{Quantity: l.Rows, Coef: 1}}}})
	for _, h := range parts {
		n := h.Rows.At(w.at(t))
		if n == 0 {
			continue
		}
		g := &w.c.Gauges[h.Fabric]
		rows.Add(rows, rat(n))
		x := new(big.Rat).Quo(rat(n), w.now[h.Fabric].Rows)
		if g.Hang != nil {
			hangs = true
			x.Quo(x, g.Hang)
		}
		lying.Add(lying, x)
		if g.Stretch == nil {
			cm = nil
		} else if cm != nil {
			cm.Add(cm, x.Mul(x, g.Stretch))
		}
	}
	if hangs {
		flat = lying
	}
	return rows, cm, flat
}
