package rewrite

import (
	"math/big"

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

// onNeedles is the rows of a height and how long they are before washing, in centimetres; nil where that is not known.
func (w *writer) onNeedles(l *dsl.LengthRule, t int) (rows, cm *big.Rat) {
	rows, cm = new(big.Rat), new(big.Rat)
	parts := append(append(dsl.Height(nil), l.Before...), dsl.FabricRows{Fabric: l.Fabric, Rows: dsl.Lin{Terms: []dsl.Term{{Quantity: l.Rows, Coef: 1}}}})
	for _, h := range parts {
		n := h.Rows.At(w.at(t))
		stretch := w.c.Gauges[h.Fabric].Stretch
		if n == 0 {
			continue
		}
		if stretch == nil {
			return nil, nil
		}
		rows.Add(rows, rat(n))
		x := new(big.Rat).Quo(rat(n), w.now[h.Fabric].Rows)
		cm.Add(cm, x.Mul(x, stretch))
	}
	return rows, cm
}
