package render

import (
	"bytes"
	"fmt"
	"math/big"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// Decision is what a card means for a draft, as plain text: what the card says, how that compares with the gauge the draft
// asks for, and for each size the ways out beside each other, with the one recommended and why.
func Decision(d *rewrite.Decision, o Options) []byte {
	var b bytes.Buffer
	b.Write(Swatches(d.Card, o))
	b.WriteString("\nFor " + printable(title(d.Draft.File)) + "\n\n")
	for _, n := range d.Needles {
		paragraph(&b, "  ", wrap(needlesText(n), 116))
	}
	if needlesMatter(d) {
		paragraph(&b, "  ", wrap("Change needles one size at a time. After three or four sizes the hand is fighting the yarn: recalculate instead. (Common practice; no published source.)", 116))
	}
	for _, n := range d.Needles {
		if l := longer(n.Swatch); l != "" {
			paragraph(&b, "  ", wrap(fmt.Sprintf("Lengths in the draft are those of the finished cloth. On the needles, before washing, %s is %s.", n.Fabric, l), 116))
		}
	}
	for _, a := range d.Assumptions {
		paragraph(&b, "  ", wrap("Assumed: "+a, 116))
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
	b.WriteString("\nClose means within 2 %, and within a centimetre where that is more.\n")
	return b.Bytes()
}

func needlesMatter(d *rewrite.Decision) bool {
	for _, n := range d.Needles {
		if n.Stitches != 0 {
			return true
		}
	}
	return false
}

// longer says how a length on the needles compares with the same when it is washed: `1.8 % longer`; "" where that was not measured or
// there is no difference.
func longer(s *dsl.Swatch) string {
	_, l := dsl.Change(s.Washed, s.Unwashed)
	switch {
	case l == nil || l.Sign() == 0:
		return ""
	case l.Sign() < 0:
		return fixed(l.Neg(l), 1) + " % shorter"
	}
	return fixed(l, 1) + " % longer"
}

// needlesText compares a swatch with the gauge asked for.
func needlesText(n rewrite.Needles) string {
	m := n.Swatch.Counts()
	asked := fixed(new(big.Rat).Mul(n.Asked.Stitches, ten), 2) + " sts and " + fixed(new(big.Rat).Mul(n.Asked.Rows, ten), 2) + " rows to 10 cm are asked for"
	is := to10(m.Stitches) + " sts"
	if m.Rows != nil {
		is += " and " + to10(m.Rows) + " rows"
	}
	s := n.Fabric + ": " + asked + ", " + is + " were measured. "
	switch {
	case n.Stitches < 0:
		s += "Fewer stitches than asked for: the cloth is looser. To come nearer, take needles one size smaller" + nextNeedles(n, -1) + " and swatch again; to keep this cloth, see below."
	case n.Stitches > 0:
		s += "More stitches than asked for: the cloth is tighter. To come nearer, take needles one size larger" + nextNeedles(n, 1) + " and swatch again; to keep this cloth, see below."
	case n.Rows < 0:
		s += "The stitches are those asked for, as far as this swatch can tell, and there are fewer rows: what is worked by counted rows comes out longer. Other needles would mend that only by spoiling the stitches."
	case n.Rows > 0:
		s += "The stitches are those asked for, as far as this swatch can tell, and there are more rows: what is worked by counted rows comes out shorter. Other needles would mend that only by spoiling the stitches."
	case m.Rows == nil:
		s += "The stitches are those asked for, as far as this swatch can tell; the rows were not measured."
	default:
		s += "That is the gauge asked for, as far as this swatch can tell."
	}
	return s
}

// nextNeedles names the size next to that of a swatch, where its card says one.
func nextNeedles(n rewrite.Needles, by int) string {
	size, ok := dsl.NextNeedles(n.Swatch.Needles, by)
	if !ok {
		return ""
	}
	return " (" + size.Text() + ")"
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
	// Three columns: as written, the best other size, recalculated.
	var shown []*rewrite.Way
	var asWritten, other, again *rewrite.Way
	for i := range ch.Ways {
		w := &ch.Ways[i]
		switch {
		case w.Kind == rewrite.AsWritten:
			asWritten = w
		case w.Kind == rewrite.Recalculated:
			again = w
		case other == nil:
			other = w
		}
	}
	for _, w := range []*rewrite.Way{asWritten, other, again} {
		if w != nil {
			shown = append(shown, w)
		}
	}
	rows := [][]string{{"", "", "wanted"}}
	for _, w := range shown {
		rows[0] = append(rows[0], wayName(w))
	}
	for _, name := range measureNames(shown) {
		line := []string{name, "", ""}
		for _, w := range shown {
			cell := "–"
			for _, g := range w.Gets {
				if g.Name == name {
					u := unitFor(g.Unit, o)
					line[2] = rewrite.Tenths(g.Wanted, u)
					cell = gotText(g, u)
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
	b.WriteByte('\n')
	printedSizes := 0
	for i := range ch.Ways {
		if ch.Ways[i].Kind != rewrite.Recalculated {
			printedSizes++
		}
	}
	if printedSizes > 1 {
		b.WriteString("  Every printed size at this gauge, best first:\n")
	}
	for i := range ch.Ways {
		w := &ch.Ways[i]
		if w.Kind == rewrite.Recalculated {
			continue
		}
		if printedSizes > 1 {
			paragraph(b, "    ", wrap(sizeLine(w, o), 112))
		}
		for _, a := range w.Astray {
			if printedSizes == 1 || i < 3 || w.Kind == rewrite.AsWritten {
				paragraph(b, "      ", wrap(astrayText(d, a, o), 108))
			}
		}
		if printedSizes > 1 && i >= 3 && w.Kind != rewrite.AsWritten && len(w.Astray) > 0 {
			n := len(w.Astray)
			paragraph(b, "      ", fmt.Sprintf("%d %s in rows astray", n, map[bool]string{true: "height", false: "heights"}[n == 1]))
		}
	}
	if printedSizes > 1 || len(ch.Ways[0].Astray) > 0 {
		b.WriteByte('\n')
	}
	if d.Failed != "" {
		paragraph(b, "  ", wrap("Recalculating does not work at this gauge: "+d.Failed+".", 116))
	}
	paragraph(b, "  ", wrap("→ "+ch.Why(func(u grammar.Unit) grammar.Unit { return unitFor(u, o) }), 116))
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

func astrayText(d *rewrite.Decision, a rewrite.Astray, o Options) string {
	u := unitFor(grammar.Centimetres, o)
	piece := a.Piece
	if piece == "" {
		piece = "the piece"
	}
	if a.Rows == 0 {
		return fmt.Sprintf("%s: %s high in all, meant are %s", piece, rewrite.Tenths(a.Is, u), rewrite.Tenths(a.Meant, u))
	}
	line, _ := d.Draft.File.Position(d.Draft.File.Marks[a.Mark].Span.Start)
	return fmt.Sprintf("%s, line %d: %d rows are %s, meant are %s", piece, line, a.Rows, rewrite.Tenths(a.Is, u), rewrite.Tenths(a.Meant, u))
}

type decisionData struct {
	cardData
	Draft       string        `json:"draft"`
	Needles     []needlesData `json:"needles"`
	Choices     []choiceData  `json:"choices"`
	Failed      string        `json:"recalculating_failed"`
	Assumptions []string      `json:"assumptions"`
	Warnings    []string      `json:"warnings"`
	Yarn        *yarnData     `json:"yarn,omitempty"`
}

type needlesData struct {
	Fabric   string      `json:"fabric"`
	Asked    stitchesFor `json:"asked"`
	Stitches int         `json:"stitches"`
	Rows     int         `json:"rows"`
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
// ways; printed sizes come best first. rows is null for the height of a whole piece.
func DecisionJSON(d *rewrite.Decision) ([]byte, error) {
	f := d.Draft.File
	out := decisionData{cardData: cardOf(d.Card), Draft: baseName(f.Name), Needles: []needlesData{}, Choices: []choiceData{}, Failed: d.Failed,
		Assumptions: append([]string{}, d.Assumptions...), Warnings: append([]string{}, d.Warnings...), Yarn: yarnOf(d.Yarn)}
	for _, n := range d.Needles {
		out.Needles = append(out.Needles, needlesData{n.Fabric, stitchesFor{decimal(new(big.Rat).Mul(n.Asked.Stitches, ten)), decimal(new(big.Rat).Mul(n.Asked.Rows, ten)), "10"}, n.Stitches, n.Rows})
	}
	kinds := map[rewrite.WayKind]string{rewrite.AsWritten: "as written", rewrite.OtherSize: "other size", rewrite.Recalculated: "recalculated"}
	for _, ch := range d.Choices {
		c := choiceData{Size: ch.Target.Name, Nearest: ch.Own, Ways: []wayData{}, Best: ch.Best, Close: ch.Close, Why: ch.Why(func(u grammar.Unit) grammar.Unit { return u })}
		for _, w := range ch.Ways {
			x := wayData{Kind: kinds[w.Kind], Size: w.Size, Gets: []gotData{}, Astray: []astrayData{}, Close: w.Close}
			for _, g := range w.Gets {
				x.Gets = append(x.Gets, gotData{g.Name, decimal(g.Wanted), decimal(g.Gets)})
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
