package render

import (
	"math/big"
	"slices"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// yarnLines are what a maker should know of the yarn: how much, and what that rests on. There are none where the draft's own figure
// stands as it was.
func yarnLines(c *rewrite.Conversion, o Options) []string {
	if c.Yarn == nil || c.Yarn.Basis != rewrite.WeighedSwatch && c.Unchanged {
		return nil
	}
	return yarnText(c.Yarn, sizesStyle(c), c.Draft.Unit(), o)
}

// yarnText is the figures, a sentence each, and then the reason.
func yarnText(y *rewrite.Yarn, style grammar.ListStyle, drafted grammar.Unit, o Options) []string {
	var out []string
	first, second := o.shown(drafted)
	for i := range y.Amounts {
		a := &y.Amounts[i]
		switch a.Unit {
		case grammar.Grams, grammar.Metres:
			if a.Quantity < 0 {
				s := yarnFigure(a, yarnUnit(a.Unit, first), style)
				if second != grammar.NoUnit {
					s += " " + yarnFigure(a, yarnUnit(a.Unit, second), style)
				}
				out = append(out, s)
				continue
			}
		}
		out = append(out, yarnFigure(a, a.Unit, style))
	}
	return append(out, yarnRests(y))
}

// yarnUnit is the unit of yarn for a reader who measures cloth in u.
func yarnUnit(of, u grammar.Unit) grammar.Unit {
	switch {
	case u != grammar.Inches:
		return of
	case of == grammar.Grams:
		return grammar.Ounces
	}
	return grammar.Yards
}

func yarnFigure(a *rewrite.YarnAmount, u grammar.Unit, style grammar.ListStyle) string {
	unit := yarnUnits[u]
	list := func(x []*big.Rat, round func(x, step *big.Rat) *big.Rat) string {
		texts := make([]string, len(x))
		for i, v := range x {
			if u != a.Unit {
				v = round(new(big.Rat).Quo(v, dsl.YarnPer(u)), yarnStep(u))
			}
			texts[i] = decimals(v, 2)
		}
		if !slices.ContainsFunc(texts, func(s string) bool { return s != texts[0] }) {
			return texts[0]
		}
		return layout(texts, style)
	}
	if a.Unit == grammar.Balls {
		about, most := list(a.About, nil), list(a.Most, nil)
		if about == "1" && most == "1" {
			return "1 ball."
		}
		if about == most {
			return about + " " + unit + "."
		}
		return about + " " + unit + "; " + most + " to be safe."
	}
	return "About " + list(a.About, dsl.RoundTo) + " " + unit + ": hardly less than " + list(a.Least, rewrite.Down) + ", and at most " + list(a.Most, rewrite.Up) + "."
}

// yarnStep is what ounces and yards are rounded to.
func yarnStep(u grammar.Unit) *big.Rat {
	if u == grammar.Ounces {
		return big.NewRat(1, 2)
	}
	return big.NewRat(10, 1)
}

func yarnRests(y *rewrite.Yarn) string {
	switch y.Basis {
	case rewrite.WeighedSwatch:
		s := y.Swatch
		return "From the swatch of " + s.Fabric.Text + ", " + decimals(s.Weight, 1) + " g over " + decimals(s.Wide, 1) + " cm by " + decimals(s.Tall, 1) +
			" cm, and the area of the pieces. What it takes at most has a tenth more for seams, ends and the swatch."
	case rewrite.DraftedFigure:
		closer := ""
		if y.Denser != nil && y.Denser.Cmp(big.NewRat(1, 1)) != 0 {
			closer = " and by how close the stitches lie (" + decimals(y.Denser, 2) + " times as many to the same area)"
		}
		return "The draft's figure, scaled by the area of the pieces" + closer + ". It holds for a yarn that is as long to the gram as the draft's, and a draft's figure is sure to a tenth at best. A weighed swatch tells more."
	}
	return "An estimate from the stitches alone: nothing is said of yarn and no swatch was weighed. It takes the yarn in a stitch of plain, fully relaxed knitting (Ks = 23.1); ribs and cables take more. A weighed swatch tells more."
}

// yarnData is the yarn as data: see ChangesJSON.
type yarnData struct {
	RestsOn string           `json:"rests_on"`
	Amounts []yarnAmountData `json:"amounts"`
	Because string           `json:"because"`
}

type yarnAmountData struct {
	Unit  string   `json:"unit"`
	From  []string `json:"from,omitempty"`
	About []string `json:"about"`
	Least []string `json:"least"`
	Most  []string `json:"most"`
}

func yarnOf(y *rewrite.Yarn) *yarnData {
	if y == nil {
		return nil
	}
	out := &yarnData{RestsOn: [...]string{"swatch", "draft", "estimate"}[y.Basis], Because: yarnRests(y)}
	for i := range y.Amounts {
		a := &y.Amounts[i]
		out.Amounts = append(out.Amounts, yarnAmountData{yarnUnits[a.Unit], decimalsOf(a.From), decimalsOf(a.About), decimalsOf(a.Least), decimalsOf(a.Most)})
	}
	return out
}

func decimalsOf(list []*big.Rat) []string {
	var out []string
	for _, x := range list {
		out = append(out, decimal(x))
	}
	return out
}

var yarnUnits = map[grammar.Unit]string{grammar.Grams: "g", grammar.Ounces: "oz", grammar.Metres: "m", grammar.Yards: "yd", grammar.Balls: "balls"}
