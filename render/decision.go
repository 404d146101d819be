package render

import (
	"bytes"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// Decision is what a card means for a draft, as plain text: first what to do and why, then how the swatch compares with the gauge
// asked for, and for each size the ways out beside each other.
func Decision(d *rewrite.Decision, o Options) []byte {
	var b bytes.Buffer
	b.WriteString(printable(title(d.Draft.File)) + ", with " + printable(title(d.Card.File)) + "\n\n")
	writeAdvice(&b, d, o)
	b.WriteString("\nYour gauge\n\n")
	enough := closeEnough(d)
	for _, n := range d.Needles {
		paragraph(&b, "  ", wrap(needlesText(n, o, enough), 116))
	}
	for _, l := range aboutGauge(d) {
		paragraph(&b, "  ", wrap(l, 116))
	}
	for i := range d.Choices {
		writeChoice(&b, d, &d.Choices[i], o)
	}
	if d.Yarn != nil {
		b.WriteString("\nYarn, recalculated")
		if names := d.Sizes(); len(names) > 1 {
			b.WriteString(" for " + printable(layout(names, grammar.ListStyle{})))
		}
		b.WriteString("\n\n")
		for _, l := range yarnText(d.Yarn, grammar.ListStyle{}, d.Draft.Unit(), o) {
			paragraph(&b, "  ", wrap(printable(l), 116))
		}
	}
	b.WriteString("\nClose means within 2 %, and within a centimetre where that is more.")
	if needlesMatter(d) {
		b.WriteString(" Sizes of needles are reckoned by their\nthickness; how many sizes a hand can make up for is common practice, no published source.")
	}
	b.WriteByte('\n')
	return b.Bytes()
}

// writeAdvice is what to do, for every size that was asked for, and how.
func writeAdvice(b *bytes.Buffer, d *rewrite.Decision, o Options) {
	if unsure := d.Unsure(); len(unsure) > 0 {
		for _, s := range unsure {
			paragraph(b, "", wrap("Swatch again before you decide. "+unsureText(s, d, o), 118))
		}
		b.WriteString("\nAs far as this swatch can tell:\n")
	}
	in := func(u grammar.Unit) grammar.Unit { return unitFor(u, o) }
	for i := range d.Choices {
		ch := &d.Choices[i]
		who := ""
		if len(d.Choices) > 1 {
			who = printable(ch.Target.Name) + ". "
		}
		paragraph(b, "", wrap("→ "+who+ch.Why(in), 118))
	}
	if d.Failed != "" {
		paragraph(b, "", wrap("Recalculating does not work at this gauge: "+d.Failed+".", 118))
	}
	if how := howTo(d); how != "" {
		b.WriteString("  " + printable(how) + "\n")
	}
	for _, c := range d.Cautions {
		paragraph(b, "", wrap("Take care. "+c, 118))
	}
	if len(d.Choices) > 1 {
		b.WriteString("  To see one size alone, name it: --size " + quotedWord(d.Choices[0].Target.Name) + "\n")
	}
}

// unsureText says how little a swatch tells of the widest measure of a garment.
func unsureText(s *dsl.Swatch, d *rewrite.Decision, o Options) string {
	c := s.Counts().Stitches
	text := narrow(s, "stitches", c, s.Wide, "wide", o)
	var widest *rewrite.Got
	for i := range d.Choices {
		for _, w := range d.Choices[i].Ways {
			for k := range w.Gets {
				if g := &w.Gets[k]; widest == nil || g.Wanted.Cmp(widest.Wanted) > 0 {
					widest = g
				}
			}
		}
	}
	if widest != nil {
		u := unitFor(widest.Unit, o)
		text += fmt.Sprintf(" As it is, %s may come out %s more or less.", widest.Name, rewrite.Tenths(new(big.Rat).Mul(widest.Wanted, c.Off), u))
	}
	return text
}

// howTo is the command that recalculates, where that is what to do for every size and the files have names.
func howTo(d *rewrite.Decision) string {
	card, draft := d.Card.File.Name, d.Draft.File.Name
	sizes := ""
	for i := range d.Choices {
		ch := &d.Choices[i]
		if ch.Advice != rewrite.Recalculate || len(ch.Target.Replace) > 0 {
			return ""
		}
		if len(d.Choices) < len(d.Draft.Sizes) {
			sizes += " --size " + quotedWord(ch.Target.Name)
		}
	}
	if card == standardInput || draft == standardInput {
		return ""
	}
	return "gaugewright convert " + quotedWord(draft) + " --swatch " + quotedWord(card) + sizes + " --out new/"
}

// standardInput is what a file is called that came through a pipe.
const standardInput = "standard input"

// quotedWord is a word as a command line has it.
func quotedWord(s string) string {
	if s != "" && strings.Trim(s, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_./") == "" {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

// andText is a list as it is said: `a, b and c`.
func andText(list []string) string {
	if n := len(list) - 1; n > 0 {
		return strings.Join(list[:n], ", ") + " and " + list[n]
	}
	return strings.Join(list, "")
}

// closeEnough says whether every size that was asked for can be knitted as it is written.
func closeEnough(d *rewrite.Decision) bool {
	return !slices.ContainsFunc(d.Choices, func(ch rewrite.Choice) bool { return ch.Advice != rewrite.KnitAsWritten })
}

func needlesMatter(d *rewrite.Decision) bool {
	if closeEnough(d) {
		return false
	}
	for _, n := range d.Needles {
		if n.Stitches != 0 {
			return true
		}
	}
	return false
}

// aboutGauge is what else there is to know of the gauge: needles, washing, what was assumed.
func aboutGauge(d *rewrite.Decision) []string {
	var out []string
	if needlesMatter(d) {
		out = append(out, "Change needles one size at a time, and swatch again each time; after three or four sizes the hand is fighting the yarn. To keep this cloth, see below.")
	}
	var longer []string
	for _, n := range d.Needles {
		if l := needleLength(n.Swatch); l != "" {
			longer = append(longer, n.Fabric+" is "+l)
		}
	}
	if len(longer) > 0 {
		out = append(out, "On the needles, before washing, "+andText(longer)+" than when finished; the lengths in the draft are finished ones.")
	}
	for _, n := range d.Needles {
		if n.Swatch.Washed == nil {
			out = append(out, unwashedText)
			break
		}
	}
	for _, a := range d.Assumptions {
		out = append(out, "Assumed: "+a)
	}
	return out
}

// needleLength says how a length on the needles compares with the same when it is washed: `1.8 % longer`; "" where that was not
// measured or there is no difference.
func needleLength(s *dsl.Swatch) string {
	_, l := dsl.Change(s.Washed, s.Unwashed)
	switch {
	case l == nil || l.Sign() == 0:
		return ""
	case l.Sign() < 0:
		return fixed(l.Neg(l), 1) + " % shorter"
	}
	return fixed(l, 1) + " % longer"
}

// needlesText compares a swatch with the gauge asked for; enough says that it is close enough to knit what is written.
func needlesText(n rewrite.Needles, o Options, enough bool) string {
	m := n.Swatch.Counts()
	over := n.Over
	switch o.Units {
	case "cm":
		over = ten
	case "in":
		over = new(big.Rat).Mul(inch, four)
	}
	per := func(x *big.Rat) string { return decimals(new(big.Rat).Mul(x, over), 2) }
	rows := " rows"
	if n.Rounds {
		rows = " rounds"
	}
	s := n.Fabric + ": " + per(n.Asked.Stitches) + " sts and " + per(n.Asked.Rows) + rows + " to " + gaugeWidth(over) + " are asked for; you have " + per(m.Stitches.Gauge()) + " sts"
	if m.Rows != nil {
		s += " and " + per(m.Rows.Gauge()) + rows
	}
	s += ", sure to within " + percent(m.Stitches.Off) + ". "
	const spoil = " Other needles would mend that only by spoiling the stitches."
	switch {
	case enough && n.Stitches < 0:
		s += "A little looser than asked for, and close enough."
	case enough && n.Stitches > 0:
		s += "A little tighter than asked for, and close enough."
	case n.Stitches < 0:
		s += "Fewer stitches than asked for: looser. Smaller needles would come nearer" + nearNeedles(n, "a thinner") + "."
	case n.Stitches > 0:
		s += "More stitches than asked for: tighter. Larger needles would come nearer" + nearNeedles(n, "a thicker") + "."
	case n.Rows < 0:
		s += "The stitches are those asked for, as far as the swatch can tell; there are fewer" + rows + ", so what is worked by counted" + rows + " comes out longer." + spoil
	case n.Rows > 0:
		s += "The stitches are those asked for, as far as the swatch can tell; there are more" + rows + ", so what is worked by counted" + rows + " comes out shorter." + spoil
	case m.Rows == nil:
		s += "The stitches are those asked for, as far as the swatch can tell; the" + rows + " were not measured."
	default:
		s += "That is the gauge asked for, as far as the swatch can tell."
	}
	return s
}

// nearNeedles names the needles that would give the gauge asked for, where the card says those of the swatch, or says that no needles
// will.
func nearNeedles(n rewrite.Needles, yarn string) string {
	steps := max(n.Steps, -n.Steps)
	switch {
	case steps >= rewrite.TooFar:
		return fmt.Sprintf(", but it would take about %d sizes, which is more than a hand can make up for: that gauge asks for %s yarn", steps, yarn)
	case n.Size.Mm == "":
		return ""
	case steps == 1:
		return ": about one size, " + n.Size.Text()
	}
	return fmt.Sprintf(": about %d sizes, %s", steps, n.Size.Text())
}

func wayName(w *rewrite.Way) string {
	switch {
	case w.Kind == rewrite.Recalculated:
		return "recalculated"
	case w.Kind == rewrite.AsWritten && w.Size == "":
		return "as written"
	case w.Kind == rewrite.AsWritten:
		return "as written, " + w.Size
	}
	return "counts of " + w.Size
}

func writeChoice(b *bytes.Buffer, d *rewrite.Decision, ch *rewrite.Choice, o Options) {
	b.WriteByte('\n')
	if ch.Target.Name != "" {
		b.WriteString("For " + printable(ch.Target.Name))
		if ch.Own != ch.Target.Name && ch.Own != "" {
			b.WriteString(" (nearest printed size: " + printable(ch.Own) + ")")
		}
		b.WriteString("\n\n")
	}
	shown := waysBeside(ch)
	rows := [][]string{{"", "", "wanted"}}
	for _, w := range shown {
		rows[0] = append(rows[0], wayName(w))
	}
	meant := false
	for _, name := range measureNames(shown) {
		line := []string{name, "", ""}
		for _, w := range shown {
			cell := "–"
			for _, g := range w.Gets {
				if g.Name == name {
					u := unitFor(g.Unit, o)
					line[2] = rewrite.Tenths(g.Wanted, u)
					cell = gotText(g, u)
					if g.Meant != nil {
						line[0], meant = name+" *", true
					}
				}
			}
			line = append(line, cell)
		}
		rows = append(rows, line)
	}
	if len(rows) > 1 {
		columns(b, "  ", rows)
	} else {
		b.WriteString("  Nothing in this draft says a width or a height.\n")
	}
	if meant {
		b.WriteString("  * The draft leaves this measurement on purpose, or rounds it one way: that is not counted as a miss.\n")
	}
	writePrinted(b, d, ch, o)
}

// waysBeside is the ways that stand beside each other: as written, the best other size, recalculated.
func waysBeside(ch *rewrite.Choice) []*rewrite.Way {
	var kinds [3]*rewrite.Way
	for i := range ch.Ways {
		if w := &ch.Ways[i]; kinds[w.Kind] == nil {
			kinds[w.Kind] = w
		}
	}
	var out []*rewrite.Way
	for _, w := range kinds {
		if w != nil {
			out = append(out, w)
		}
	}
	return out
}

// writePrinted is what each printed size comes to, best first, and where its rows go astray: in full for the best and for the wearer's
// own.
func writePrinted(b *bytes.Buffer, d *rewrite.Decision, ch *rewrite.Choice, o Options) {
	var printed []*rewrite.Way
	astray := false
	for i := range ch.Ways {
		if w := &ch.Ways[i]; w.Kind != rewrite.Recalculated {
			printed = append(printed, w)
			astray = astray || len(w.Astray) > 0
		}
	}
	switch {
	case len(printed) > 1:
		b.WriteString("\n  Every printed size at this gauge, best first:\n")
	case astray:
		b.WriteByte('\n')
	}
	for i, w := range printed {
		text := ""
		if len(printed) > 1 {
			text = sizeLine(w, o)
		}
		if len(w.Astray) > 0 && (i == 0 || w.Kind == rewrite.AsWritten) {
			text += " Counted in rows: " + astrayText(w, o) + "."
		} else if len(w.Astray) > 0 {
			text += " Rows go astray, too."
		}
		paragraph(b, "    ", wrap(strings.TrimSpace(text), 112))
	}
}

func unitFor(u grammar.Unit, o Options) grammar.Unit {
	first, _ := o.shown(u)
	if first == grammar.Millimetres {
		return grammar.Centimetres
	}
	return first
}

func measureNames(ways []*rewrite.Way) (names []string) {
	seen := map[string]bool{}
	for _, w := range ways {
		for _, g := range w.Gets {
			if !seen[g.Name] {
				seen[g.Name] = true
				names = append(names, g.Name)
			}
		}
	}
	return names
}

// gotText is what comes out, with how far that is from what is wanted: `97.8 cm (+0.8)`.
func gotText(g rewrite.Got, u grammar.Unit) string {
	m := shownMiss(g, u)
	off := fixed(m, 1)
	switch {
	case strings.Trim(off, "−0.") == "":
		off = "±0"
	case m.Sign() > 0:
		off = "+" + off
	}
	return rewrite.Tenths(g.Gets, u) + " (" + off + ")"
}

// sizeLine is what following a printed size comes to: by the first measure, and by the one that misses by most.
func sizeLine(w *rewrite.Way, o Options) string {
	if len(w.Gets) == 0 {
		return w.Size
	}
	g := w.Gets[0]
	s := fmt.Sprintf("The instructions for %s make %s %s at your gauge; you want %s.", w.Size, g.Name, rewrite.Tenths(g.Gets, unitFor(g.Unit, o)), rewrite.Tenths(g.Wanted, unitFor(g.Unit, o)))
	if w.Worst > 0 {
		g = w.Gets[w.Worst]
		s += fmt.Sprintf(" Furthest out: %s, %s.", g.Name, gotText(g, unitFor(g.Unit, o)))
	}
	return s
}

// astrayText is where rows go astray, what is alike in several pieces told once: `20 rows come to 6.9 cm instead of 6.3 cm
// (Back, Front)`.
func astrayText(w *rewrite.Way, o Options) string {
	u := unitFor(grammar.Centimetres, o)
	var said []string
	where := map[string][]string{}
	for _, a := range w.Astray {
		text := fmt.Sprintf("%d rows come to %s instead of %s", a.Rows, rewrite.Tenths(a.Is, u), rewrite.Tenths(a.Meant, u))
		if a.Rows == 0 {
			text = fmt.Sprintf("in all %s instead of %s", rewrite.Tenths(a.Is, u), rewrite.Tenths(a.Meant, u))
		}
		if where[text] == nil {
			said = append(said, text)
		}
		if piece := a.Piece; piece != "" && !slices.Contains(where[text], piece) {
			where[text] = append(where[text], piece)
		}
	}
	for i, text := range said {
		if len(where[text]) > 0 {
			said[i] += " (" + strings.Join(where[text], ", ") + ")"
		}
	}
	return strings.Join(said, "; ")
}

type decisionData struct {
	cardData
	Draft       string        `json:"draft"`
	Needles     []needlesData `json:"needles"`
	Choices     []choiceData  `json:"choices"`
	Failed      string        `json:"recalculating_failed"`
	Assumptions []string      `json:"assumptions"`
	Warnings    []string      `json:"warnings"`
	Cautions    []string      `json:"cautions"`
	Yarn        *yarnData     `json:"yarn,omitempty"`
}

type needlesData struct {
	Fabric   string      `json:"fabric"`
	Asked    stitchesFor `json:"asked"`
	Stitches int         `json:"stitches"`
	Rows     int         `json:"rows"`
	TryMm    *string     `json:"try_needles_mm"`
	Sizes    int         `json:"needle_sizes_away"`
}

type stitchesFor struct {
	Stitches string `json:"stitches"`
	Rows     string `json:"rows"`
	Over     string `json:"over_cm"`
}

type choiceData struct {
	Size    string    `json:"size"`
	Nearest string    `json:"nearest_printed_size"`
	Ways    []wayData `json:"ways"`
	Best    int       `json:"recommended"`
	Close   bool      `json:"close"`
	Advice  string    `json:"advice"`
	Why     string    `json:"why"`
}

type wayData struct {
	Kind   string       `json:"kind"`
	Size   string       `json:"size"`
	Gets   []gotData    `json:"measures"`
	Astray []astrayData `json:"rows_astray"`
	Close  bool         `json:"close"`
}

type gotData struct {
	Name   string `json:"name"`
	Wanted string `json:"wanted_cm"`
	Gets   string `json:"gets_cm"`
	// Meant is by how much the draft leaves the measurement on purpose.
	Meant *string `json:"meant_off_cm,omitempty"`
}

type astrayData struct {
	Line  int    `json:"line"`
	Piece string `json:"piece"`
	Rows  *int64 `json:"rows"`
	Meant string `json:"meant_cm"`
	Is    string `json:"is_cm"`
}

// DecisionJSON is the same as Decision for other programs, version 1. Of needles, stitches and rows are −1 where the swatch has
// fewer than asked for, 1 where it has more, 0 where its error is larger than the difference. recommended is an index in
// ways, of the nearest of them; advice says what to do: one of the ways, "other needles", "other yarn", or that nothing is close.
// Printed sizes come best first. rows is null for the height of a whole piece.
func DecisionJSON(d *rewrite.Decision) ([]byte, error) {
	f := d.Draft.File
	out := decisionData{cardData: cardOf(d.Card), Draft: baseName(f.Name), Needles: []needlesData{}, Choices: []choiceData{}, Failed: d.Failed,
		Assumptions: append([]string{}, d.Assumptions...), Warnings: append([]string{}, d.Warnings...), Cautions: append([]string{}, d.Cautions...), Yarn: yarnOf(d.Yarn)}
	for _, n := range d.Needles {
		x := needlesData{Fabric: n.Fabric, Asked: stitchesFor{decimal(new(big.Rat).Mul(n.Asked.Stitches, ten)), decimal(new(big.Rat).Mul(n.Asked.Rows, ten)), "10"}, Stitches: n.Stitches, Rows: n.Rows, Sizes: n.Steps}
		if n.Size.Mm != "" {
			x.TryMm = &n.Size.Mm
		}
		out.Needles = append(out.Needles, x)
	}
	kinds := map[rewrite.WayKind]string{rewrite.AsWritten: "as written", rewrite.OtherSize: "other size", rewrite.Recalculated: "recalculated"}
	for _, ch := range d.Choices {
		c := choiceData{Size: ch.Target.Name, Nearest: ch.Own, Ways: []wayData{}, Best: ch.Best, Close: ch.Close, Advice: ch.Advice.String(), Why: ch.Why(func(u grammar.Unit) grammar.Unit { return u })}
		for _, w := range ch.Ways {
			x := wayData{Kind: kinds[w.Kind], Size: w.Size, Gets: []gotData{}, Astray: []astrayData{}, Close: w.Close}
			for _, g := range w.Gets {
				x.Gets = append(x.Gets, gotData{g.Name, decimal(g.Wanted), decimal(g.Gets), maybe(g.Meant)})
			}
			for _, a := range w.Astray {
				line, _ := f.Position(f.Marks[a.Mark].Span.Start)
				y := astrayData{Line: line, Piece: a.Piece, Meant: decimal(a.Meant), Is: decimal(a.Is)}
				if a.Rows > 0 {
					rows := a.Rows
					y.Rows = &rows
				}
				x.Astray = append(x.Astray, y)
			}
			c.Ways = append(c.Ways, x)
		}
		out.Choices = append(out.Choices, c)
	}
	return marshal(out)
}
