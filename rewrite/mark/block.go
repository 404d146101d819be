package mark

import (
	"fmt"
	"math/big"
	"strings"

	"gaugewright/grammar"
)

// proposal is what the draft block is made of.
type proposal struct {
	gauges   []gauge
	sizes    []string
	sizesAt  grammar.Span // the list in the text, empty where it was not found
	guessed  bool         // the sizes have no names in the text
	called   string       // what they are called by then
	measures []measure
}

type gauge struct {
	fabric string
	text   string // `20 sts and 28 rows to 10 cm`
	sts    *big.Rat
	cm     *big.Rat
	guess  string // what was guessed
}

type measure struct {
	stretch     *grammar.Stretch
	from, to    int
	name, value string
	names       []string   // the numbers, as names for the sizes
	cm          []*big.Rat // a size
	guess       string
	body        bool // of who wears it, not of what is knitted
}

var one = big.NewRat(1, 1)

// propose reads gauge, sizes and measurements from the text.
func (e *engine) propose() *proposal {
	p := &proposal{}
	for i := range e.pl.Prose {
		s := &e.pl.Prose[i]
		if p.sizes == nil {
			e.sizesIn(p, i)
		}
		e.stitchGauge(p, s)
	}
	var said []gauge
	for i := range e.found {
		if g, ok := e.found[i].mark.Phrase.(*grammar.GaugeSaid); ok {
			said = e.gaugeSaid(said, &e.found[i], g)
		}
	}
	if len(said) > 0 {
		p.gauges = said
	}
	if len(p.gauges) == 0 {
		if g, ok := e.gaugeOfWidth(); ok {
			p.gauges = []gauge{g}
		} else {
			p.gauges = []gauge{{fabric: "main", text: "20 sts and 28 rows to 10 cm", sts: big.NewRat(20, 1), cm: big.NewRat(10, 1), guess: "no gauge was found in the text"}}
		}
	}
	e.countSizes(p)
	for i := range e.pl.Prose {
		var before *grammar.Stretch
		if s := &e.pl.Prose[i]; s.Table && i > 0 && e.pl.Prose[i-1].Table {
			before = &e.pl.Prose[i-1]
		}
		e.measureIn(p, &e.pl.Prose[i], before)
	}
	p.calledByMeasure()
	return p
}

// calledByMeasure calls sizes that have no names by the measurement they are told apart by: `To fit chest 81 (86, 91) cm`.
func (p *proposal) calledByMeasure() {
	if !p.guessed {
		return
	}
	for _, m := range p.measures {
		if len(m.names) == len(p.sizes) && len(set(strings.Join(m.names, " "))) == len(m.names) {
			p.sizes, p.called = m.names, "called by their "+m.name
			return
		}
	}
}

// gaugeSaid takes up a gauge that the text gives whole.
func (e *engine) gaugeSaid(said []gauge, c *candidate, g *grammar.GaugeSaid) []gauge {
	if g.Gauge.Stitches == nil || g.Gauge.Rows == nil || g.Gauge.Over == nil || len(g.Gauge.Stitches.Nums) != 1 || len(g.Gauge.Rows.Nums) != 1 || len(g.Gauge.Over.Nums) != 1 {
		return said
	}
	unit := "rows"
	if g.Gauge.Rounds {
		unit = "rounds"
	}
	over := g.Gauge.Over.Nums[0].Val
	x := gauge{fabric: "main", sts: g.Gauge.Stitches.Nums[0].Val, cm: inCm(over, g.Gauge.Over.Unit),
		text: fmt.Sprintf("%s sts and %s %s to %s", plainNumber(g.Gauge.Stitches.Nums[0].Val), plainNumber(g.Gauge.Rows.Nums[0].Val), unit, length(over, g.Gauge.Over.Unit))}
	for _, y := range said {
		if y.text == x.text {
			return said
		}
	}
	if len(said) > 0 {
		x.fabric = e.fabricName(c, said)
		x.guess = "a second gauge in the text"
	}
	return append(said, x)
}

// fabricName is a name for a further fabric: what the text says after its gauge (`in rib`).
func (e *engine) fabricName(c *candidate, said []gauge) string {
	w := c.stretch.Words
	name := ""
	for i := c.to; i < len(w) && i < c.to+8; i++ {
		if w[i].Key != "in" && w[i].Key != "over" || i+1 >= len(w) || w[i+1].Kind != grammar.WordToken {
			continue
		}
		name = w[i+1].Key
		if i+2 < len(w) && w[i+2].Kind == grammar.WordToken && len(name) > 2 && !small[w[i+2].Key] {
			name += " " + w[i+2].Key
		}
		break
	}
	if name == "" || grammar.UnitOf(name) != grammar.NoUnit || small[name] {
		name = "second"
	}
	for _, y := range said {
		if y.fabric == name {
			name = fmt.Sprintf("fabric %d", len(said)+1)
		}
	}
	return name
}

var small = set(`the a an and on in with using of for or to at by from worked after before is`)

// stitchGauge takes up `5 stitches to the inch`, `11 stitches should measure two inches`: the rows are guessed where they are
// not said.
func (e *engine) stitchGauge(p *proposal, s *grammar.Stretch) {
	if len(p.gauges) > 0 {
		return
	}
	w := s.Words
	for i := range w {
		if w[i].Kind != grammar.NumberToken || w[i].Val == nil || i+2 >= len(w) || grammar.UnitOf(w[i+1].Key) != grammar.Stitches || w[i].Val.Sign() <= 0 {
			continue
		}
		over, unit, ok := gaugeWidth(w, i+2)
		if !ok {
			continue
		}
		g := gauge{fabric: "main", sts: w[i].Val, cm: inCm(over, unit)}
		rows := new(big.Rat).Mul(g.sts, big.NewRat(7, 5))
		g.guess = "the rows are guessed"
		if r, ok := rowGauge(w, over, unit); ok {
			rows, g.guess = r, "put together from two places"
		}
		if n := new(big.Rat).Quo(new(big.Rat).Mul(g.sts, big.NewRat(10, 1)), g.cm); n.Cmp(big.NewRat(5, 1)) < 0 || n.Cmp(big.NewRat(120, 1)) > 0 {
			continue
		}
		g.text = fmt.Sprintf("%s sts and %s rows to %s", plainNumber(g.sts), plainNumber(rounded(rows)), length(over, unit))
		p.gauges = []gauge{g}
		return
	}
}

var gaugeVerbs = set(`measure measures = to make makes equal equals over per in should will be must about`)

// gaugeWidth is the width after a count of stitches in a gauge: `= 4 in`, `should measure two inches`, `to the inch`.
func gaugeWidth(w []grammar.Token, i int) (*big.Rat, grammar.Unit, bool) {
	verb := false
	for j := i; j < len(w) && j < i+6; j++ {
		switch {
		case gaugeVerbs[w[j].Key]:
			switch w[j].Key {
			case "should", "will", "must", "about", "be":
			default:
				verb = true
			}
		case verb && (w[j].Key == "the" || w[j].Key == "an") && j+1 < len(w) && w[j+1].Key == "inch":
			return one, grammar.Inches, true
		case verb && w[j].Kind == grammar.NumberToken && w[j].Val != nil && j+1 < len(w):
			u := grammar.UnitOf(w[j+1].Key)
			if w[j+1].Key == `"` {
				u = grammar.Inches
			}
			return w[j].Val, u, u.IsLength() && w[j].Val.Sign() > 0
		case w[j].Key == "the" || w[j].Key == "an":
		default:
			return nil, 0, false
		}
	}
	return nil, 0, false
}

// rowGauge is a count of rows to the same width in the same paragraph.
func rowGauge(w []grammar.Token, over *big.Rat, unit grammar.Unit) (*big.Rat, bool) {
	for i := range w {
		if w[i].Kind != grammar.NumberToken || w[i].Val == nil || i+2 >= len(w) || !grammar.UnitOf(w[i+1].Key).IsRows() {
			continue
		}
		if o, u, ok := gaugeWidth(w, i+2); ok && u == unit {
			return new(big.Rat).Quo(new(big.Rat).Mul(w[i].Val, over), o), true
		}
	}
	return nil, false
}

// gaugeOfWidth derives a gauge from a cast-on whose width is said.
func (e *engine) gaugeOfWidth() (gauge, bool) {
	for i := range e.found {
		c := &e.found[i]
		p, ok := c.mark.Phrase.(*grammar.CastOn)
		if !ok || p.Count == nil || len(p.Count.Nums) != 1 {
			continue
		}
		cm, text, ok := widthAfter(c)
		if !ok {
			continue
		}
		n := new(big.Rat).Set(p.Count.Nums[0].Val)
		if p.Needles > 0 {
			n.Mul(n, new(big.Rat).SetInt64(p.Needles))
		}
		sts := new(big.Rat).Quo(new(big.Rat).Mul(n, big.NewRat(10, 1)), cm)
		if sts.Cmp(big.NewRat(5, 1)) < 0 || sts.Cmp(big.NewRat(120, 1)) > 0 {
			continue
		}
		sts = rounded(sts)
		return gauge{fabric: "main", sts: sts, cm: big.NewRat(10, 1), text: fmt.Sprintf("%s sts and %s rows to 10 cm", plainNumber(sts), plainNumber(rounded(new(big.Rat).Mul(sts, big.NewRat(7, 5))))),
			guess: fmt.Sprintf("from %s sts being %s; the rows are guessed", plainNumber(n), text)}, true
	}
	return gauge{}, false
}

// widthAfter is the width that is said right after a count: `98 sts (49 cm)`, `50 stitches, measuring 11 inches`.
func widthAfter(c *candidate) (cm *big.Rat, text string, ok bool) {
	w := c.stretch.Words
	said := false
	for j := c.to; j < len(w) && j < c.to+12; j++ {
		switch k := w[j].Key; {
		case k == "(" || k == "[" || k == "measuring" || k == "measure" || k == "measures" || k == "=":
			said = true
		case k == "." || k == ";" || w[j].Kind > grammar.SignToken:
			return nil, "", false
		case w[j].Kind == grammar.NumberToken:
			if !said || w[j].Val == nil || w[j].Val.Sign() <= 0 || j+1 >= len(w) {
				return nil, "", false
			}
			u := grammar.UnitOf(w[j+1].Key)
			if w[j+1].Key == `"` {
				u = grammar.Inches
			}
			if !u.IsLength() {
				return nil, "", false
			}
			return inCm(w[j].Val, u), length(w[j].Val, u), true
		}
	}
	return nil, "", false
}

func inCm(x *big.Rat, u grammar.Unit) *big.Rat {
	switch u {
	case grammar.Inches:
		return new(big.Rat).Mul(x, big.NewRat(254, 100))
	case grammar.Millimetres:
		return new(big.Rat).Quo(x, big.NewRat(10, 1))
	}
	return new(big.Rat).Set(x)
}

func length(x *big.Rat, u grammar.Unit) string {
	unit := map[grammar.Unit]string{grammar.Inches: "in", grammar.Millimetres: "mm"}[u]
	if unit == "" {
		unit = "cm"
	}
	return plainNumber(x) + " " + unit
}

// plainNumber writes a number so that the notation reads it: whole, with decimals, or with a fraction.
func plainNumber(x *big.Rat) string {
	if x.IsInt() {
		return x.Num().String()
	}
	s := strings.TrimRight(x.FloatString(3), "0")
	if y, ok := new(big.Rat).SetString(s); ok && y.Cmp(x) == 0 {
		return s
	}
	whole := new(big.Int).Quo(x.Num(), x.Denom())
	part := new(big.Rat).Sub(x, new(big.Rat).SetInt(whole))
	if whole.Sign() == 0 {
		return part.RatString()
	}
	return whole.String() + " " + part.RatString()
}

// rounded is the nearest half of a stitch or row, and never nothing.
func rounded(x *big.Rat) *big.Rat {
	y := new(big.Rat).Add(new(big.Rat).Mul(x, big.NewRat(2, 1)), big.NewRat(1, 2))
	n := new(big.Int).Quo(y.Num(), y.Denom())
	if n.Sign() <= 0 {
		n.SetInt64(1)
	}
	return new(big.Rat).SetFrac(n, big.NewInt(2))
}

// sizesIn looks for the list of sizes in a stretch: `Sizes: S (M, L)`.
func (e *engine) sizesIn(p *proposal, i int) {
	s := &e.pl.Prose[i]
	w := s.Words
	for j := range w {
		if !sizeLeads[w[j].Key] || w[j].Kind != grammar.WordToken {
			continue
		}
		if j > 0 && (w[j-1].Key == "needle" || w[j-1].Key == "hook" || w[j-1].Key == "us") {
			continue
		}
		from := j + 1
		if from+2 < len(w) && w[from].Key == "(" && w[from+1].Key == "s" && w[from+2].Key == ")" {
			from += 3 // `Size(s)`
		}
		for from < len(w) && (sizePassing[w[from].Key] || w[from].Key == ":" || w[from].Key == "-" || w[from].Key == "—" || w[from].Key == "are" || w[from].Key == "in" || w[from].Key == ".") {
			from++
		}
		if from == len(w) && i+1 < len(e.pl.Prose) && !e.pl.Prose[i+1].Heading {
			w, from = e.pl.Prose[i+1].Words, 0
		}
		if e.sizeList(p, w, from) {
			return
		}
	}
}

var sizeLeads = set(`size sizes ages age aged`)
var sizePassing = set(`women's woman's ladies ladies' men's man's child's children's adult adults unisex to fit`)

// sizeList reads names with brackets and commas round them.
func (e *engine) sizeList(p *proposal, w []grammar.Token, from int) bool {
	var names []string
	name, begun := "", false
	add := func() bool {
		if name == "" {
			return false
		}
		names = append(names, name)
		name = ""
		return true
	}
	end := from
	depth, brackets := 0, 0
scan:
	for j := from; j < len(w); j++ {
		t := &w[j]
		switch {
		case t.Key == "(" || t.Key == "[":
			if !add() && !begun {
				break scan
			}
			depth++
			brackets++
		case t.Key == ")" || t.Key == "]":
			add()
			depth--
			end = j + 1
			if depth < 0 {
				break scan
			}
		case t.Key == "-" && !t.Blank && name != "" && j+1 < len(w) && !w[j+1].Blank:
			name += "-" // `X-Large`, `3-6`
		case depth > 0 && (t.Key == "," || t.Key == ":" || t.Key == ";" || t.Key == "/" || t.Key == "-" && t.Blank):
			add()
		case t.Kind == grammar.WordToken || t.Kind == grammar.NumberToken:
			if depth == 0 && brackets > 0 && !(len(names) == 2*brackets && name == "" && j+1 < len(w) && w[j+1].Key == "(") {
				break scan // but `S (M) L (XL)` goes on
			}
			text := e.pl.File.Text(t.Span)
			if name != "" && t.Blank {
				name += " "
			}
			name += text
			begun = true
			if len(strings.Fields(name)) > 3 || len(name) > 24 {
				return false
			}
		default:
			break scan
		}
	}
	if brackets == 0 {
		if names, end = e.plainSizes(w, from); len(names) > 1 {
			brackets, depth = 1, 0
		}
	}
	if brackets == 0 || len(names) < 2 || len(names) > 30 || end == from || depth != 0 {
		return false
	}
	if end < len(w) && (w[end].Key == `"` || grammar.UnitOf(w[end].Key).IsLength()) {
		return false // a measurement
	}
	seen := map[string]bool{}
	for _, n := range names {
		k := grammar.Key(n)
		if seen[k] || strings.ContainsAny(n, "\"'") || grammar.UnitOf(k) != grammar.NoUnit && len(k) > 1 {
			return false
		}
		for _, f := range strings.Fields(k) {
			if u := grammar.UnitOf(f); u.IsLength() || u == grammar.Stitches || f == "mm" || f == "needles" {
				return false
			}
		}
		seen[k] = true
	}
	p.sizes = names
	p.sizesAt = grammar.Span{Start: w[from].Span.Start, End: w[end-1].Span.End}
	return true
}

var sizeNames = set(`xxs xs s m l xl xxl xxxl 1x 2x 3x 4x 5x 2xl 3xl 4xl 5xl small medium large`)

// plainSizes reads a list of the usual names without brackets: `XS, S, M and L`.
func (e *engine) plainSizes(w []grammar.Token, from int) (names []string, end int) {
	for j := from; j < len(w); j++ {
		switch k := w[j].Key; {
		case sizeNames[k]:
			names = append(names, e.pl.File.Text(w[j].Span))
			end = j + 1
		case k == "," || k == "/" || k == "and" || k == "&" || k == "-":
		default:
			return names, end
		}
	}
	return names, end
}

// countSizes makes the number of sizes that of the lists in the instructions.
func (e *engine) countSizes(p *proposal) {
	votes := map[int]int{}
	for i := range e.found {
		grammar.Values(e.found[i].mark.Phrase, func(v *grammar.Value) {
			if len(v.Nums) > 1 {
				votes[len(v.Nums)]++
			}
		})
	}
	n, most := 0, 0
	for k, v := range votes {
		if v > most || v == most && k > n {
			n, most = k, v
		}
	}
	if n > 1 && len(p.sizes) != n {
		p.sizes, p.sizesAt, p.guessed = nil, grammar.Span{}, true
		for k := range n {
			p.sizes = append(p.sizes, fmt.Sprint(k+1))
		}
	}
}

var measured = set(`chest bust waist hip hips length width sleeve circumference neck foot head hand back hem body cuff underarm armhole depth height brim finished wide long tall girth shoulder`)

var passing = set(`measurement measurements approx approximately about fit fits body's`)
var modifying = set(`actual upper lower inside inner outer cross across around total side seam back front top bottom full center centre knitted size over leg ankle wrist mid`)

// measureIn takes up the measurements of a stretch: `Finished chest: 98 (106, 114) cm`. before is the table cell before it, where it stands
// in a table.
func (e *engine) measureIn(p *proposal, s, before *grammar.Stretch) {
	if s.Heading {
		return
	}
	w := s.Words
	for j := 0; j < len(w) && len(p.measures) < 24; {
		if w[j].Kind != grammar.NumberToken {
			j++
			continue
		}
		m, to := e.lengthAt(p, w, j)
		if m == nil {
			j = listEnd(w, j)
			continue
		}
		name := e.nameBefore(s, j)
		if j == 0 && before != nil {
			name = e.nameBefore(before, len(before.Words))
		}
		if name != "" {
			e.measureOf(p, s, name, m, j, to)
		}
		j = to
	}
}

// lengthAt reads a length, or one for each size, with a second unit where one follows.
func (e *engine) lengthAt(p *proposal, w []grammar.Token, j int) (*grammar.Statement, int) {
	end := 0
	for k := j; k < len(w) && k < j+90; k++ {
		if w[k].Kind > grammar.SignToken || w[k].Kind == grammar.WordToken && !grammar.UnitOf(w[k].Key).IsLength() || w[k].Key == "." || w[k].Kind == grammar.SignToken && !strings.Contains("()[],:;/-\"", w[k].Key) {
			break
		}
		end = k + 1
	}
	for ; end > j; end-- {
		if k := &w[end-1]; !grammar.UnitOf(k.Key).IsLength() && k.Key != `"` && k.Key != ")" && k.Key != "]" {
			continue
		}
		m := e.pl.Read(w[j:end])
		if m == nil {
			continue
		}
		st, ok := m.Phrase.(*grammar.Statement)
		if ok && st.Value.Unit.IsLength() && (len(st.Value.Nums) == 1 || len(st.Value.Nums) == len(p.sizes)) {
			return st, end
		}
	}
	return nil, 0
}

// nameBefore is the words before a number that name what it measures, behind the beginning of a line, a sentence or a figure before them.
func (e *engine) nameBefore(s *grammar.Stretch, j int) string {
	var name []string
	good := false
	w := s.Words
	k := j - 1
	for ; k >= 0; k-- {
		t := &w[k]
		if t.Kind == grammar.SignToken && (t.Key == ":" || t.Key == "-" || t.Key == "—" || t.Key == "=" || t.Key == "*") && k > j-4 {
			continue
		}
		if t.Kind != grammar.WordToken || grammar.UnitOf(t.Key).IsLength() {
			break
		}
		switch {
		case small[t.Key] || passing[t.Key]:
		case measured[t.Key] || modifying[t.Key]:
			name = append([]string{t.Key}, name...)
			good = good || measured[t.Key]
		default:
			return ""
		}
		if k > 0 && strings.ContainsAny(string(e.src[w[k-1].Span.End:t.Span.Start]), "\n\r") {
			break
		}
	}
	if !good || len(name) > 4 {
		return ""
	}
	return strings.Join(name, " ")
}

// ofBody says whether a measure is that of the body: `To fit chest 86 cm`, or the circumference of a head, a hand or a foot that is not
// called finished. before is the word of the number.
func ofBody(w []grammar.Token, before int, name string) bool {
	parts := set(name)
	body := parts["head"] || parts["hand"] || parts["foot"]
	for k := before - 1; k >= 0 && k > before-8; k-- {
		switch w[k].Key {
		case ".", ";":
			return body
		case "fit", "fits", "body":
			return true
		case "finished", "knitted", "actual":
			return false
		}
	}
	return body
}

func (e *engine) measureOf(p *proposal, s *grammar.Stretch, name string, st *grammar.Statement, from, to int) {
	x := measure{name: name, stretch: s, from: from, to: to, guess: "from the text", body: ofBody(s.Words, from, name)}
	for _, y := range p.measures {
		if y.name == x.name {
			return
		}
	}
	var vals []string
	for _, n := range st.Value.Nums {
		if n.Val == nil || n.Val.Sign() <= 0 {
			return
		}
		vals = append(vals, plainNumber(n.Val))
		x.cm = append(x.cm, inCm(n.Val, st.Value.Unit))
	}
	if len(vals) > 1 {
		x.names = vals
	}
	x.value = list(vals) + map[grammar.Unit]string{grammar.Inches: " in", grammar.Millimetres: " mm", grammar.Centimetres: " cm"}[st.Value.Unit]
	p.measures = append(p.measures, x)
}

// list is one value, or one a size.
func list(v []string) string {
	if len(v) == 1 {
		return v[0]
	}
	return v[0] + " (" + strings.Join(v[1:], ", ") + ")"
}

// text is the block, without the measures where they cannot be read.
func (p *proposal) text(measures bool) string {
	var b strings.Builder
	b.WriteString("```draft\nnotation 1\n")
	line := func(text, guess string) {
		b.WriteString(text)
		if guess != "" {
			b.WriteString("  -- check this: " + guess)
		}
		b.WriteByte('\n')
	}
	for _, g := range p.gauges {
		line("fabric "+g.fabric+": "+g.text, g.guess)
	}
	if len(p.sizes) > 0 {
		guess := ""
		if p.guessed {
			if guess = p.called; guess == "" {
				guess = "the text has no names for its sizes"
			}
		}
		line("sizes: "+list(p.sizes), guess)
	}
	if measures {
		for _, m := range p.measures {
			line(m.name+" = "+m.value, m.guess)
		}
	}
	b.WriteString("```\n")
	return b.String()
}
