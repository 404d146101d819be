package mark

import (
	"strings"

	"gaugewright/grammar"
)

// kind says what kind of instruction a candidate is, or "" where it only looks like one.
func (f *finder) kind(c *candidate) string {
	m := c.mark
	if !f.counts(c) {
		return ""
	}
	if m.Fabric != nil && !f.fabricKnown(m.Fabric.Key) {
		return ""
	}
	if f.key(c.from-1) == "of" && (f.key(c.from-2) == "multiple" || f.key(c.from-2) == "multiples") {
		return "" // `a multiple of 4 sts + 2` is what a pattern asks for, no count
	}
	switch p := m.Phrase.(type) {
	case *grammar.CastOn:
		if f.says(c, "join", "joining") {
			return "" // an instruction of its own
		}
		if p.Where != nil && p.Where.Span.Start < p.Count.NumSpan.Start && !f.startsWith(c, "cast", "co", "casting", "c", "set") {
			return "" // `begin at the waist, cast on 52 sts`: it begins further on
		}
		return f.unless(f.key(c.from-1) != "to" && f.partOfPlace(c) || !f.explicit(c, p.Count), "cast on")
	case *grammar.PickUp:
		return "pick up"
	case *grammar.Work:
		return f.work(c, p)
	case *grammar.Shape:
		if f.starred(c) || p.Sts == nil && f.says(c, "once") || p.Meanwhile && p.Until != nil || p.Then && !f.afterShaping(c) {
			return ""
		}
		if f.oneRowUnsaid(p) {
			// `you will thus decrease 16 stitches` sums up what was told before
			switch before := f.key(c.from - 1); {
			case p.Sts == nil && !f.lineOut(c):
				return ""
			case p.Where.Ends == grammar.Unplaced && (c.mark.SameRow || f.inRow(c.to)):
				return "evenly"
			case before == "thus":
				c.sums = true
			case f.rowSum(c, p):
			case !f.startsWith(c, "increase", "decrease") || !f.lineOut(c):
				return ""
			}
		}
		if p.Until != nil {
			return "until"
		}
		return "shape"
	case *grammar.Evenly:
		return f.evenly(c, p)
	case *grammar.Repeat:
		return f.repeat(c, p)
	case *grammar.BindOff:
		return f.bindOff(c, p)
	case *grammar.Resume:
		return f.resume(c, p)
	case *grammar.Twin:
		return f.twin(c, p)
	case *grammar.Make:
		return f.made(c)
	case *grammar.Spelled:
		return f.unless(p.Takes == p.Makes || f.starred(c) || p.Times == nil && !f.rowAlone(c), "spelled out")
	case *grammar.Turn:
		return f.unless(!f.says(c, "before", "unworked", "short"), "short rows")
	case *grammar.Hold:
		return f.unless(!f.holderSaid(c) || p.Count == nil && f.turned(c) || f.key(c.to) == "from" || f.key(c.to+1) == "from" || p.Count == nil && !f.says(c, "all", "sts", "stitches"), "hold")
	case *grammar.Divide:
		return "divide"
	case *grammar.Join:
		return f.unless(len(p.Names) > 0 || p.Count == nil && !f.startsWith(c, "join") || c.to == c.from+1 && !f.joinsEnds(c), "join")
	case *grammar.Space:
		return "buttonholes"
	case *grammar.Layout:
		return f.unless(!f.says(c, "-", "+", "on", "upon") || f.says(c, ",") && !f.says(c, "(", "on", "upon"), "layout")
	case *grammar.Statement:
		return f.statement(c, p)
	case *grammar.Close:
		return f.ending(c, p)
	case *grammar.GaugeSaid:
		return "gauge"
	}
	return ""
}

// afterShaping says whether shaping was found right before the words, so that they can go on with it.
func (f *finder) afterShaping(c *candidate) bool {
	if f.last == nil {
		return false
	}
	_, shapes := f.last.mark.Phrase.(*grammar.Shape)
	for i := f.last.to; i < c.from; i++ {
		shapes = shapes && (f.key(i) == "," || f.key(i) == ";" || f.key(i) == "and")
	}
	return shapes
}

// labels are words whose number is a name.
var labels = set(`row rows round rounds rnd rnds chart charts page pages step fig figure no nos size sizes us uk section part version needle needles marker photo`)

// numbered are abbreviations of what has a number for a name.
var numbered = set(`no nos fig p pp`)

// counts says whether the numbers of a candidate can be counts at all: they are not the names of rows, charts or needles, and no
// needle's or yarn's size.
func (f *finder) counts(c *candidate) bool {
	for i := c.from; i < c.to; i++ {
		if f.w[i].Kind != grammar.NumberToken || f.w[i].Ordinal {
			continue
		}
		before, after := f.key(i-1), f.key(i+1)
		if grammar.UnitOf(before).IsRows() && f.interval(i-2) {
			before = "" // `every 4th row 6 times`
		}
		if labels[before] || before == "." && numbered[f.key(i-2)] || before == "#" || before == "$" || before == "£" || before == "€" {
			if _, again := c.mark.Phrase.(*grammar.Repeat); !again || i == c.from {
				return false
			}
		}
		if after == "mm" || after == "ply" || after == "%" || after == "-" && f.key(i+2) == "ply" {
			return false
		}
		if _, again := c.mark.Phrase.(*grammar.Repeat); !again && before == "-" && labels[f.key(i-3)] {
			return false
		}
	}
	return true
}

// interval says whether a word before `row` makes it an interval, not the name of a row.
func (f *finder) interval(i int) bool {
	if i < 0 {
		return false
	}
	if f.w[i].Kind == grammar.NumberToken || f.w[i].Key == ")" || f.w[i].Key == "]" {
		return true
	}
	switch f.w[i].Key {
	case "every", "each", "other", "alt", "alternate", "next", "following", "foll", "rs", "ws", "last", "side", "these", "this", "right-side", "wrong-side":
		return true
	}
	return false
}

func (f *finder) unless(no bool, kind string) string {
	if no {
		return ""
	}
	return kind
}

func (f *finder) key(i int) string {
	if i < 0 || i >= len(f.w) {
		return ""
	}
	if f.w[i].Kind == grammar.MarkToken {
		return "{}"
	}
	return f.w[i].Key
}

func (f *finder) fabricKnown(key string) bool {
	for _, b := range f.pl.File.Blocks {
		for _, fb := range b.Fabrics {
			if fb.Name.Key == key {
				return true
			}
		}
	}
	return false
}

// explicit says whether a count stands right behind the words for what is done, not somewhere later.
func (f *finder) explicit(c *candidate, v *grammar.Value) bool {
	if v == nil {
		return false
	}
	for i := c.from; i < c.to; i++ {
		if f.w[i].Span.Start == v.NumSpan.Start {
			before := f.key(i - 1)
			return before != "making" && before != "leaving" && before != "giving" && before != "have"
		}
	}
	return true
}

// partOfPlace says whether the words name a place or a row (`from the cast on edge`), not something to be done.
func (f *finder) partOfPlace(c *candidate) bool {
	switch f.key(c.from - 1) {
	case "from", "the", "to", "of", "after", "before", "your", "sts", "stitches", "those", "loosely":
		return true
	}
	return false
}

var heldWords = set(`held sts st stitches remaining rem first second left right front back other side sleeve sleeves body half hold`)

// resume weighs what takes work up again: it speaks of stitches, or of work by a name.
func (f *finder) resume(c *candidate, p *grammar.Resume) string {
	if p.Count == nil && p.Name.Key == "" && !f.says(c, "sts", "stitches") {
		return ""
	}
	if p.Name.Key != "" {
		any := false
		for k, w := range strings.Fields(p.Name.Key) {
			if k == 0 && workVerbs[w] {
				return "" // `rejoin yarn and work second side`
			}
			any = any || heldWords[w]
		}
		if !any {
			return ""
		}
	}
	switch f.key(c.from) {
	case "continue", "return", "go":
		// `continue with 4 mm needles`, `return to row 3`
		if p.Name.Key != "" && (strings.Contains(p.Name.Key, "needle") || strings.Contains(p.Name.Key, "row")) {
			return ""
		}
	}
	return "resume"
}

func (f *finder) twin(c *candidate, p *grammar.Twin) string {
	switch f.key(c.from - 1) {
	case "not", "to", "is", "are":
		return ""
	}
	switch f.firstAt(c.to) {
	case "until", "till":
		c.until = true // `as given for back until front measures 38 cm`: only so far
	}
	return "twin"
}

// made weighs `make 2`, which in the text of a row would make stitches.
func (f *finder) made(c *candidate) string {
	before, after := f.key(c.from-1), f.key(c.to)
	if (before == "(" || before == "" || before == "." || before == "-" || before == "—" || before == ",") && (after == ")" || after == "" || after == "." || after == "alike") && !f.says(c, "one", "1") {
		return "twin"
	}
	return ""
}

func (f *finder) work(c *candidate, p *grammar.Work) string {
	if f.s.Heading || p.Rows != nil && !p.Rows.Unit.IsRows() || f.says(c, "=") {
		return ""
	}
	switch f.key(c.from) {
	case "next", "following", "first", "last", "of", "on", "the", "these", "this", "those":
		return "" // `next 2 rows` of something else
	}
	if len(f.key(c.from)) == 1 && p.Rows == nil {
		return "" // `k. 1 in the front`
	}
	switch {
	case p.Match != nil || p.Repeats != nil && p.Rows == nil:
		return ""
	case p.Rows != nil && (p.Rows.Unit == grammar.NoUnit || len(p.Rows.Nums[0].Text) == 0):
		return "" // `next row, knit`: the text of a row
	}
	switch f.key(c.from) {
	case "to", "over", "r", "p", "k":
		// `28 rows to 10 cm` is a gauge
		if p.Rows == nil && f.countBefore(c.from) {
			return ""
		}
	}
	switch f.key(c.from - 1) {
	case "these", "this", "those":
		return f.unless(f.w[c.from].Kind == grammar.NumberToken, "work")
	case "fit", "approx", "up", "measures", "measuring":
		return ""
	}
	return "work"
}

// countBefore says whether a count stands just before word i.
func (f *finder) countBefore(i int) bool {
	if i > 0 && f.w[i-1].Kind == grammar.WordToken {
		u := grammar.UnitOf(f.w[i-1].Key)
		return u == grammar.Stitches || u.IsRows()
	}
	return false
}

// oneRowUnsaid says whether shaping names no rows at all: `widen 1` in the text of a row.
func (f *finder) oneRowUnsaid(p *grammar.Shape) bool {
	for _, c := range p.Clauses {
		if c.EverySpan.End > c.EverySpan.Start || c.TimesSpan.End > c.TimesSpan.Start {
			return false
		}
	}
	return p.Until == nil
}

// rowSum says whether a count sums up what the row did whose text stands before it: `— 8 sts increased`, `(4 sts dec'd)`.
func (f *finder) rowSum(c *candidate, p *grammar.Shape) bool {
	if p.Sts == nil || p.Where.Ends != grammar.Unplaced || c.to-c.from > 5 {
		return false
	}
	switch strings.ReplaceAll(f.key(c.to-1), "’", "'") {
	case "increased", "inc'd", "decreased", "dec'd":
	default:
		return false
	}
	switch f.key(c.from - 1) {
	case "-", "—", "(", "[", ":", ",", ";", ".", "=", "*":
	default:
		return false
	}
	switch f.key(c.to) {
	case "", ".", ")", "]", ";", ",", "{}":
		return true
	}
	return f.newLine(c.to)
}

// inRow says whether `in the last row` or its like stands at word i.
func (f *finder) inRow(i int) bool {
	if f.key(i) != "in" && f.key(i) != "on" {
		return false
	}
	for j := i + 1; j < i+4; j++ {
		switch f.key(j) {
		case "last", "next", "this", "the", "same":
			continue
		case "row", "round", "rnd":
			return j > i+1
		}
		return false
	}
	return false
}

// lineOut says whether a row of plain knitting is told out round a single increase: `increase 1, knit to the end`.
func (f *finder) lineOut(c *candidate) bool {
	i := c.to
	if f.key(i) == "by" {
		for i < len(f.w) && f.key(i) != "," && i < c.to+8 {
			i++
		}
	}
	return f.key(i) == "," && f.key(i+1) == "knit" && f.key(i+2) == "to" && (f.key(i+3) == "the" || f.key(i+3) == "end")
}

func (f *finder) startsWith(c *candidate, words ...string) bool {
	for _, w := range words {
		if f.key(c.from) == w {
			return true
		}
	}
	return false
}

// says whether one of the words is among those of the candidate.
func (f *finder) says(c *candidate, words ...string) bool {
	for i := c.from; i < c.to; i++ {
		for _, w := range words {
			if f.w[i].Key == w {
				return true
			}
		}
	}
	return false
}

func (f *finder) evenly(c *candidate, p *grammar.Evenly) string {
	if p.Count == nil && p.To == nil || !f.says(c, "evenly", "across", "in") && p.To == nil {
		return ""
	}
	return "evenly"
}

func (f *finder) repeat(c *candidate, p *grammar.Repeat) string {
	if p.LastRows == nil && (p.Row == nil || !rowNamed(p.Row.Key)) || p.Times != nil && len(p.Times.Nums[0].Text) == 0 && p.Until == nil && len(p.Clauses) == 0 {
		return ""
	}
	return "repeat"
}

// rowNamed says whether a name is that of a row of shaping: `dec row`, `the increase round`.
func rowNamed(key string) bool {
	words := strings.Fields(key)
	u := grammar.UnitOf(words[len(words)-1])
	return len(words) > 1 && len(words) < 5 && (u == grammar.Rows || u == grammar.Rounds)
}

func (f *finder) bindOff(c *candidate, p *grammar.BindOff) string {
	if f.partOfPlace(c) || f.starred(c) || f.says(c, "leaving") && !f.says(c, "centre", "center", "central", "middle", "side") {
		return ""
	}
	if p.Count == nil && p.Centre == nil && len(p.Steps) == 0 {
		// no number at all: only where it stands as an instruction of its own
		switch f.key(c.from - 1) {
		case "", ".", ",", ";", ":", "and", "then", "-", "—", ")":
		default:
			return ""
		}
	}
	return "bind off"
}

// starred says whether the words belong to a stitch pattern that is repeated: `*bind off 1; rep from *`, `* k4, inc 1, repeat`.
func (f *finder) starred(c *candidate) bool {
	for i := c.from - 1; i >= 0 && i > c.from-20; i-- {
		switch f.key(i) {
		case "*":
			return f.key(i-1) != "from"
		case ".", "*.":
			return f.key(i) == "." && f.stops(i) && false
		}
		if f.key(i) == "." && f.stops(i) {
			return false
		}
	}
	return false
}

// manyRows are words before a row's text that make it the text of more rows than one, or of some sizes only.
var manyRows = set(`rows rounds rnds every each alternate alt even odd both other only size sizes`)

// rowAlone says whether the words are all of one row, worked once: `Rnd 3: *k5, k2tog; rep from * around.`
func (f *finder) rowAlone(c *candidate) bool {
	switch after := f.key(c.to); after {
	case "", ".", ";", ":", "-", "—", "(", "[", "=", "{}":
	case ",":
		if n := c.to + 1; n < len(f.w) && f.w[n].Kind != grammar.NumberToken && f.w[n].Kind != grammar.MarkToken {
			return false // `rep from * around, k1`
		}
	default:
		if !f.newLine(c.to) {
			return false
		}
	}
	switch before := f.key(c.from - 1); before {
	case "", ":", ".", "-", "—", ")", "{}":
	default:
		if !f.newLine(c.from) && !grammar.UnitOf(before).IsRows() && !grammar.UnitOf(f.key(c.from-2)).IsRows() {
			return false // `k1, *k5, k2tog; …`
		}
	}
	numbers := 0
	for i := c.from - 1; i >= 0 && f.w[i].Kind <= grammar.SignToken && !f.endsSentence(i) && numbers < 2; i-- {
		if manyRows[f.w[i].Key] {
			return false
		}
		if f.w[i].Kind == grammar.NumberToken {
			numbers++
		}
		if grammar.UnitOf(f.w[i].Key).IsRows() && f.newLine(i) {
			break
		}
	}
	return numbers < 2
}

// endsSentence says whether a sentence ends with word i.
func (f *finder) endsSentence(i int) bool {
	return f.w[i].Key == ";" || f.w[i].Key == "." && f.stops(i)
}

// newLine says whether word i begins a line of the text.
func (f *finder) newLine(i int) bool {
	return i > 0 && i < len(f.w) && strings.ContainsAny(string(f.pl.File.Src[f.w[i-1].Span.End:f.w[i].Span.Start]), "\n\r")
}

var holders = set(`safety holder holders hold thread string waste scrap spare aside pin safety-pin extra idle`)

// holderSaid says whether what the stitches are put on is said in the words or right after them.
func (f *finder) holderSaid(c *candidate) bool {
	for i := c.from; i < c.to+5 && i < len(f.w); i++ {
		switch {
		case f.w[i].Key == "cable" || f.w[i].Key == "cn":
			return false // for the length of a cable only
		case holders[f.w[i].Key]:
			return true
		}
		if i >= c.to && f.w[i].Kind != grammar.WordToken {
			break
		}
	}
	return false
}

// turned says whether only part of the row was worked before the rest is left: `k37, turn, leave rem sts on a holder`.
func (f *finder) turned(c *candidate) bool {
	for i := c.from - 1; i >= 0 && i > c.from-5 && f.w[i].Kind <= grammar.SignToken && !f.endsSentence(i); i-- {
		if f.w[i].Key == "turn" {
			return f.says(c, "rem", "remaining")
		}
	}
	return false
}

// joinsEnds says whether `join` and no more joins the ends of what was just cast on.
func (f *finder) joinsEnds(c *candidate) bool {
	if f.last == nil {
		return false
	}
	p, cast := f.last.mark.Phrase.(*grammar.CastOn)
	if !cast || p.Where != nil || p.More || p.EndOfRow {
		return false
	}
	switch f.key(c.to) {
	case "", ".", ",", ";", "and", ":":
		return !f.says(&candidate{from: f.last.to, to: c.from}, "yarn", "ball")
	}
	return false
}

// picksOn says whether a count goes on from a pick-up in the same sentence: `pick up 20 sts down the left neck, 14 sts from the holder`.
func (f *finder) picksOn(c *candidate) bool {
	if before := f.key(c.from - 1); before != "," && before != "and" && !(before == "knit" && f.key(c.from-2) == ",") {
		return false
	}
	switch f.key(c.to) {
	case "from", "down", "up", "along", "across", "around", "at", "over":
	default:
		return false
	}
	for i := c.from - 1; i >= 0 && i > c.from-60; i-- {
		switch f.key(i) {
		case ".":
			if f.stops(i) {
				return false
			}
		case ";", ":", "{}":
			return false
		case "pick", "pu", "puk":
			return true
		}
	}
	return false
}

var beforeStated = set(`have leaving making giving total leaves gives makes are be remain — - = : is`)
var afterStated = set(`remain remains remaining rem left total altogether`)
var beforePattern = set(`last first next over within of on to center centre middle k p knit purl work slip sl every each another extra more until per`)

// statement weighs a count that is said.
func (f *finder) statement(c *candidate, p *grammar.Statement) string {
	if p.Value == nil || p.Value.Unit != grammar.Stitches || f.s.Heading || f.says(c, "of", "from", "between", "these", "this") && !f.says(c, "total") {
		return ""
	}
	before, after := f.key(c.from-1), f.key(c.to)
	if before == "till" || before == "until" {
		if p.Value.UnitSpan.End == p.Value.UnitSpan.Start {
			return "" // `k. till 27 remain`
		}
		c.reached = true
	}
	if f.picksOn(c) {
		c.ties = append(c.ties, Tie{Text: "picked up", Why: "it goes on from the pick-up before it"})
		return "pick up"
	}
	if changed[after] != 0 {
		return "" // `8 sts increased` is what a row does
	}
	if after == "=" || before == "gauge" || before == "tension" || f.key(c.from-2) == "gauge" || f.key(c.from-2) == "tension" {
		return ""
	}
	if after == "of" || after == "between" || after == "picked" || after == "cast" || after == "from" || after == "at" {
		return ""
	}
	if afterStated[f.key(c.to-1)] || afterStated[after] || after == "in" && f.key(c.to+1) == "all" || after == "on" && (f.key(c.to+1) == "needle" || f.key(c.to+1) == "needles" || f.key(c.to+2) == "needle" || f.key(c.to+2) == "needles") {
		if before == "last" || before == "next" || before == "first" {
			return ""
		}
		return "statement"
	}
	if beforePattern[before] {
		return ""
	}
	if beforeStated[before] || (before == "(" && after == ")") || (before == "[" && after == "]") {
		return "statement"
	}
	if (before == "" || before == "." || before == ";") && (after == "" || after == ".") {
		return "statement"
	}
	return ""
}

func (f *finder) ending(c *candidate, p *grammar.Close) string {
	if p.Count == nil && p.A == nil {
		if p.How == grammar.FastenOff {
			return ""
		}
		remaining := false
		for i := c.from; i < c.to; i++ {
			switch f.w[i].Key {
			case "remaining", "rem", "all", "stitches", "sts":
				remaining = true
			}
		}
		if !remaining {
			return ""
		}
	}
	return "ending"
}
