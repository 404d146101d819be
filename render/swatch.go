package render

import (
	"bytes"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

var (
	four    = big.NewRat(4, 1)
	hundred = big.NewRat(100, 1)
)

// state is one way a swatch was measured in.
type state struct {
	name string
	of   *dsl.Measured
}

func states(s *dsl.Swatch) []state {
	var out []state
	for _, x := range []state{{"unwashed", s.Unwashed}, {"washed", s.Washed}, {"hung", s.Hung}} {
		if x.of != nil {
			out = append(out, x)
		}
	}
	return out
}

// Swatches is what a card says, as plain text: of each swatch whether it can be trusted and what that means on a garment, its gauge to
// 10 cm and to 4 in before and after washing, and what washing did.
func Swatches(c *dsl.Card, o Options) []byte {
	var b bytes.Buffer
	b.WriteString(printable(title(c.File)) + "\n")
	changed, stocking := false, false
	for i := range c.Swatches {
		s := &c.Swatches[i]
		b.WriteByte('\n')
		writeSwatch(&b, s, o)
		w, l := dsl.Change(s.Unwashed, s.Washed)
		changed = changed || w != nil || l != nil || s.Hung != nil
		stocking = stocking || stockingRatio(s) != nil
	}
	said := howSure
	if changed {
		said += " Washing: minus is shrinkage, plus is growth, of the size before, as in ISO 5077."
	}
	if stocking {
		said += fmt.Sprintf(" Rows to a stitch: 1.2 to 1.5 is usual for stocking stitch; fully relaxed plain knit has %s (Kc/Kw = 5.5/4.2, GATE Textile Engineering examination 2015, question 54).", fixed(dsl.LoopShape, 2))
	}
	b.WriteByte('\n')
	paragraph(&b, "", wrap(said, 116))
	return b.Bytes()
}

// howSure is the formula of dsl.Count in words.
const howSure = "Sure to within: two standard errors of the mean of the readings (about nineteen times in twenty), and not less than the half stitch or row that anyone can misread in each of them."

func writeSwatch(b *bytes.Buffer, s *dsl.Swatch, o Options) {
	head := s.Fabric.Text
	if s.Needles != "" {
		head += ", needles " + s.Needles
	}
	if n, ok := dsl.NeedlesOf(s.Needles); ok {
		head = s.Fabric.Text + ", needles " + n.Text()
	}
	switch {
	case s.Flat:
		head += ", flat"
	case s.Round:
		head += ", in the round"
	}
	b.WriteString(printable(head) + "\n\n")
	for _, l := range verdict(s, o) {
		paragraph(b, "  ", wrap(l, 116))
	}
	b.WriteByte('\n')

	rows := [][]string{{"", "", "to 10 cm", "to 4 in", "sure to within", "readings"}}
	for _, st := range states(s) {
		name := st.name
		for _, x := range []struct {
			what string
			of   *dsl.Count
		}{{"stitches", st.of.Stitches}, {rowWord(s), st.of.Rows}} {
			if x.of == nil {
				continue
			}
			rows = append(rows, []string{name, x.what, to10(x.of), to4(x.of), percent(x.of.Off), fmt.Sprint(len(x.of.Readings))})
			name = ""
		}
	}
	columns(b, "  ", rows)
	if said := findings(s); len(said) > 0 {
		b.WriteByte('\n')
		for _, l := range said {
			paragraph(b, "  ", wrap(l, 116))
		}
	}
}

func rowWord(s *dsl.Swatch) string {
	if s.Round {
		return "rounds"
	}
	return "rows"
}

// to10 and to4 are a count over 10 cm and over 4 in, which are 10.16 cm and not the same.
func to10(c *dsl.Count) string { return fixed(new(big.Rat).Mul(c.Gauge(), ten), 2) }
func to4(c *dsl.Count) string {
	return fixed(new(big.Rat).Mul(c.Gauge(), new(big.Rat).Mul(inch, four)), 2)
}

// percent is a share in per cent, with one decimal.
func percent(x *big.Rat) string { return fixed(new(big.Rat).Mul(x, hundred), 1) + " %" }

// fixed is x with so many decimals, as a column needs them; halves away from zero.
func fixed(x *big.Rat, places int) string {
	return strings.Replace(x.FloatString(places), "-", "−", 1)
}

// signed is a change with its sign, as ISO 5077 writes it.
func signed(x *big.Rat) string {
	s := fixed(x, 1)
	switch {
	case strings.Trim(s, "−0.") == "":
		return "0.0 %"
	case x.Sign() > 0:
		s = "+" + s
	}
	return s + " %"
}

// garment is the widths that stand for a garment: a chest and a length that many garments have.
func garment(o Options) (chest, length *big.Rat, unit grammar.Unit) {
	if o.Units == "in" {
		return new(big.Rat).Mul(big.NewRat(40, 1), inch), new(big.Rat).Mul(big.NewRat(24, 1), inch), grammar.Inches
	}
	return big.NewRat(100, 1), big.NewRat(60, 1), grammar.Centimetres
}

// tenths is a length to a tenth of its unit.
func tenths(cm *big.Rat, u grammar.Unit) string {
	x := cm
	if u == grammar.Inches {
		x = new(big.Rat).Quo(cm, inch)
	}
	return strings.TrimSuffix(x.FloatString(1), ".0")
}

// verdict is whether a swatch can be trusted and what that means on a garment.
func verdict(s *dsl.Swatch, o Options) []string {
	now := s.Counts()
	chest, length, unit := garment(o)
	between := func(c *dsl.Count, x *big.Rat) string {
		least, most := c.Bounds(x)
		return fmt.Sprintf("between %s and %s", tenths(least, unit), tenths(most, unit))
	}
	trusted := now.Stitches.Trusted() && (now.Rows == nil || now.Rows.Trusted())
	lead := "It can be trusted to one per cent: "
	if !trusted {
		lead = "On a garment: "
	}
	on := fmt.Sprintf("%sa chest of %s %s may come out %s", lead, tenths(chest, unit), unitName(unit), between(now.Stitches, chest))
	if now.Rows != nil {
		on += fmt.Sprintf(", and %s %s of length worked by counting %s %s", tenths(length, unit), unitName(unit), rowWord(s), between(now.Rows, length))
	}
	var out []string
	if !now.Stitches.Trusted() {
		out = append(out, narrow(s, "stitches", now.Stitches, s.Wide, "wide", o))
	}
	if now.Rows != nil && !now.Rows.Trusted() {
		out = append(out, narrow(s, rowWord(s), now.Rows, s.Tall, "tall", o))
	}
	return append(out, on+".")
}

// narrow says over how little stitches or rows were measured, over how much they would be sure enough, and whether the swatch, size
// centimetres wide or tall where that is known, is large enough for it.
func narrow(s *dsl.Swatch, what string, c *dsl.Count, size *big.Rat, how string, o Options) string {
	_, _, unit := garment(o)
	over, enough := new(big.Rat), c.Width()
	for _, r := range c.Readings {
		if r.Cm.Cmp(over) > 0 {
			over = r.Cm
		}
	}
	in := func(x *big.Rat, up bool) string {
		switch {
		case unit != grammar.Inches:
			return decimals(x, 1) + " cm"
		case up:
			return quartersUp(x) + " in"
		}
		return tenths(x, unit) + " in"
	}
	text := fmt.Sprintf("The %s of %s cannot be trusted yet: they were measured over only %s. Measured as often over %s, they would be sure to within one per cent", what, s.Fabric.Text, in(over, false), in(enough, true))
	larger := map[string]string{"wide": "wider", "tall": "taller"}[how]
	switch {
	case size == nil:
		return text + ", if the swatch is that " + how + "; else knit a " + larger + " one."
	case size.Cmp(enough) >= 0:
		return text + ", and the swatch is " + in(size, false) + " " + how + ", so there is room."
	}
	return text + ", but the swatch is only " + in(size, false) + " " + how + ": knit a " + larger + " one."
}

// unwashedText is what is told of a swatch that was not measured after washing.
const unwashedText = "It was not measured after washing. Most cloth changes in its first wash: wash the swatch as the garment will be, and measure again."

// findings are what else the numbers of a swatch say, a sentence or two a line.
func findings(s *dsl.Swatch) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	now := s.Counts()
	if now.Rows == nil {
		say("No %s were read, so lengths that are worked by counting %s cannot be told.", rowWord(s), rowWord(s))
	}
	switch {
	case s.Washed == nil:
		say(unwashedText)
	case s.Unwashed == nil:
		say("It was not measured before washing, so what washing did cannot be told, nor how long the work is while it is on the needles.")
	default:
		w, l := dsl.Change(s.Unwashed, s.Washed)
		var did []string
		if w != nil {
			did = append(did, signed(w)+" widthwise")
		}
		if l != nil {
			did = append(did, signed(l)+" lengthwise")
		}
		if len(did) > 0 {
			say("Washing: %s.", strings.Join(did, ", "))
		}
	}
	if s.Hung != nil {
		if _, l := dsl.Change(now, s.Hung); l != nil {
			say("Hung with its weight on it: %s lengthwise against the cloth lying flat.", signed(l))
		}
	}
	if r := stockingRatio(s); r != nil {
		verdict := "usual for stocking stitch"
		if !dsl.Ordinary(r) {
			verdict = "out of the ordinary for stocking stitch: measure again, unless this is another stitch"
		}
		say("%s to a stitch: %s, %s.", strings.ToUpper(rowWord(s)[:1])+rowWord(s)[1:], fixed(r, 2), verdict)
	}
	return out
}

// stockingRatio is the rows to a stitch of a swatch that may be stocking stitch, nil where they were not measured or it is not.
func stockingRatio(s *dsl.Swatch) *big.Rat {
	if otherStitch(s.Fabric.Text) {
		return nil
	}
	return s.Counts().Ratio()
}

// otherStitch says whether a fabric's name tells that it is not stocking stitch, whose ratio of rows to stitches is known.
func otherStitch(name string) bool {
	return slices.ContainsFunc(strings.Fields(strings.ToLower(name)), func(w string) bool {
		switch strings.TrimSuffix(w, "s") {
		case "rib", "ribbing", "garter", "moss", "seed", "lace", "cable", "brioche", "welt", "band":
			return true
		}
		return false
	})
}

// quartersUp is a length in centimetres as a tape in inches reads it, to the quarter of an inch that is not below it.
func quartersUp(cm *big.Rat) string {
	quarter := new(big.Rat).Quo(inch, four)
	x := new(big.Rat).Quo(cm, quarter)
	n := new(big.Int).Neg(x.Num())
	n.Div(n, x.Denom())
	return tape(x.Mul(x.SetInt(n.Neg(n)), quarter), grammar.Inches)
}

// columns writes rows with their columns under one another: the first two to the left, numbers to the right.
func columns(b *bytes.Buffer, indent string, rows [][]string) {
	var wide []int
	for _, r := range rows {
		for i, c := range r {
			if i == len(wide) {
				wide = append(wide, 0)
			}
			wide[i] = max(wide[i], width(c))
		}
	}
	for _, r := range rows {
		var line strings.Builder
		line.WriteString(indent)
		for i, c := range r {
			pad := strings.Repeat(" ", wide[i]-width(c))
			if i < 2 {
				line.WriteString(c + pad)
			} else {
				line.WriteString(pad + c)
			}
			line.WriteString("  ")
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
}

// wrap breaks text at blanks so that no line is wider than n, and sets later lines in.
func wrap(s string, n int) string {
	var out strings.Builder
	at := 0
	for i, word := range strings.Fields(s) {
		w := width(uncoloured(word))
		switch {
		case i == 0:
		case at+1+w > n:
			out.WriteString("\n  ")
			at = 2
		default:
			out.WriteByte(' ')
			at++
		}
		out.WriteString(word)
		at += w
	}
	return out.String()
}

type cardData struct {
	Version  int          `json:"version"`
	Card     string       `json:"card"`
	Swatches []swatchData `json:"swatches"`
}

type swatchData struct {
	Line     int        `json:"line"`
	Fabric   string     `json:"fabric"`
	Needles  string     `json:"needles"`
	Round    bool       `json:"round"`
	Unwashed *stateData `json:"unwashed"`
	Washed   *stateData `json:"washed"`
	Hung     *stateData `json:"hung"`
	// Change is that of washing in per cent, signed as in ISO 5077.
	ChangeWidth  *string `json:"change_width_percent"`
	ChangeLength *string `json:"change_length_percent"`
	HungLength   *string `json:"hung_length_percent"`
	Ratio        *string `json:"rows_to_stitches"`
	Ordinary     *bool   `json:"ordinary_for_stocking_stitch"`
	WeightG      *string `json:"weight_g"`
	WideCm       *string `json:"wide_cm"`
	TallCm       *string `json:"tall_cm"`
}

type stateData struct {
	Stitches *countData `json:"stitches"`
	Rows     *countData `json:"rows"`
}

type countData struct {
	To10Cm    string `json:"to_10_cm"`
	To4In     string `json:"to_4_in"`
	Readings  int    `json:"readings"`
	Sure      string `json:"sure_to_percent"`
	Trusted   bool   `json:"trusted"`
	TrustedCm string `json:"trusted_over_cm"`
}

// SwatchesJSON is the same as Swatches for other programs, version 1. Numbers are decimal strings, exact where they can be,
// else with six decimals; what was not measured is null. sure_to_percent is how far the cloth may lie from the gauge either
// way; trusted_over_cm the whole centimetres over which the same readings would be sure to within one per cent.
func SwatchesJSON(c *dsl.Card) ([]byte, error) {
	return marshal(cardOf(c))
}

func cardOf(c *dsl.Card) cardData {
	out := cardData{Version: version, Card: baseName(c.File.Name), Swatches: []swatchData{}}
	for i := range c.Swatches {
		s := &c.Swatches[i]
		line, _ := c.File.Position(s.Block.Span.Start)
		d := swatchData{Line: line, Fabric: s.Fabric.Text, Needles: s.Needles, Round: s.Round, Unwashed: stateOf(s.Unwashed), Washed: stateOf(s.Washed), Hung: stateOf(s.Hung),
			WeightG: maybe(s.Weight), WideCm: maybe(s.Wide), TallCm: maybe(s.Tall)}
		w, l := dsl.Change(s.Unwashed, s.Washed)
		d.ChangeWidth, d.ChangeLength = maybe(w), maybe(l)
		now := s.Counts()
		_, l = dsl.Change(now, s.Hung)
		d.HungLength = maybe(l)
		if r := now.Ratio(); r != nil {
			usual := dsl.Ordinary(r)
			d.Ratio, d.Ordinary = maybe(r), &usual
		}
		out.Swatches = append(out.Swatches, d)
	}
	return out
}

func maybe(x *big.Rat) *string {
	if x == nil {
		return nil
	}
	s := decimal(x)
	return &s
}

func stateOf(m *dsl.Measured) *stateData {
	if m == nil {
		return nil
	}
	one := func(c *dsl.Count) *countData {
		if c == nil {
			return nil
		}
		return &countData{decimal(new(big.Rat).Mul(c.Gauge(), ten)), decimal(new(big.Rat).Mul(c.Gauge(), new(big.Rat).Mul(inch, four))), len(c.Readings),
			decimal(new(big.Rat).Mul(c.Off, hundred)), c.Trusted(), c.Width().Num().String()}
	}
	return &stateData{one(m.Stitches), one(m.Rows)}
}
