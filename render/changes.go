package render

import (
	"bytes"
	_ "embed"
	"math/big"
	"strconv"
	"strings"

	"github.com/sergi/go-diff/diffmatchpatch"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

//go:embed changes.css
var changesCSS string

var changesStyles = strings.ReplaceAll(changesCSS, "\n", "")

// ChangesPage is what a conversion changed as one self-contained HTML document: number by number under the heading each
// stands in, old and new, the size it should give and the size it gives, and why; what stayed is folded away. Where a
// sentence was written anew, it is shown word by word.
func ChangesPage(c *rewrite.Conversion, o Options) ([]byte, error) {
	f := c.Draft.File
	var b bytes.Buffer
	b.Grow(1<<14 + 512*len(c.Numbers))
	name := title(f)
	openPage(&b, "Changes: "+name)
	// The head is open still: the page's own style follows the common one.
	style := strings.Replace(b.String(), "</style>", changesStyles+"</style>", 1)
	style = strings.Replace(style, "To the instructions", "To the changes", 1)
	b.Reset()
	b.WriteString(style)
	b.WriteString("<h1>What changed in " + escape(name) + "</h1>\n<p class=\"made\">" + made(c, o) + " " + tally(c) + "</p>\n</header>\n")
	noteSection(&b, c)
	b.WriteString("<main id=\"the.pattern\">\n")
	b.WriteString(gaugeTable(c))
	if names := sizeNames(c); len(names) > 1 {
		b.WriteString("<p class=\"legend\">Numbers stand in the order of the sizes: " + escape(layout(names, grammar.ListStyle{})) + ".</p>\n")
	}
	sentences := map[int]*rewrite.MarkText{}
	for i := range c.Marks {
		if c.Marks[i].Rewritten {
			sentences[c.Marks[i].Mark] = &c.Marks[i]
		}
	}
	for i := 0; i < len(c.Numbers); {
		j := i
		for j < len(c.Numbers) && c.Numbers[j].Piece == c.Numbers[i].Piece {
			j++
		}
		pieceChanges(&b, c, o, i, j, sentences)
		i = j
	}
	closePage(&b)
	return b.Bytes(), nil
}

func tally(c *rewrite.Conversion) string {
	n := 0
	for i := range c.Numbers {
		if c.Numbers[i].Changed {
			n++
		}
	}
	return strconv.Itoa(n) + " of " + counted(len(c.Numbers), "number") + " changed."
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

func pieceChanges(b *bytes.Buffer, c *rewrite.Conversion, o Options, from, to int, sentences map[int]*rewrite.MarkText) {
	name := c.Numbers[from].Piece
	if name == "" {
		name = "At the beginning"
	}
	b.WriteString("<section>\n<h2>" + escape(name) + "</h2>\n")
	var changed, kept []int
	for i := from; i < to; i++ {
		if c.Numbers[i].Changed {
			changed = append(changed, i)
		} else {
			kept = append(kept, i)
		}
	}
	if len(changed) > 0 {
		b.WriteString("<div class=\"frame\"><table class=\"numbers\">\n<thead><tr><th scope=\"col\">Number</th><th scope=\"col\">Draft</th><th scope=\"col\">Now</th>" +
			"<th scope=\"col\">Should be</th><th scope=\"col\">Comes to</th><th scope=\"col\">Why</th></tr></thead>\n<tbody>\n")
		for _, i := range changed {
			numberRow(b, c, o, &c.Numbers[i], true)
		}
		b.WriteString("</tbody></table></div>\n")
	}
	last := -1
	for i := from; i < to; i++ {
		m := c.Numbers[i].Mark
		if t := sentences[m]; t != nil && m != last {
			sentence(b, c, t)
		}
		last = m
	}
	if len(kept) > 0 {
		b.WriteString("<details><summary>" + counted(len(kept), "number") + " as in the draft</summary>\n<div class=\"frame\"><table class=\"numbers kept\">\n" +
			"<thead><tr><th scope=\"col\">Number</th><th scope=\"col\">Draft and now</th><th scope=\"col\">Should be</th><th scope=\"col\">Comes to</th><th scope=\"col\">Why</th></tr></thead>\n<tbody>\n")
		for _, i := range kept {
			numberRow(b, c, o, &c.Numbers[i], false)
		}
		b.WriteString("</tbody></table></div>\n</details>\n")
	}
	b.WriteString("</section>\n")
}

func numberRow(b *bytes.Buffer, c *rewrite.Conversion, o Options, n *rewrite.Number, changed bool) {
	var style grammar.ListStyle
	if q := n.Quantity; q >= 0 && q < len(c.Draft.Quantities) && c.Draft.Quantities[q].Value != nil {
		style = c.Draft.Quantities[q].Value.Style
	}
	line, _ := c.Draft.File.Position(n.Span.Start)
	b.WriteString("<tr><th scope=\"row\">" + escape(n.Phrase))
	if n.Name != "" {
		b.WriteString(" <em>" + escape(n.Name) + "</em>")
	}
	b.WriteString(" <span class=\"aside\">line " + strconv.Itoa(line) + "</span></th>")
	unit := unitWord(n)
	cell := func(head, class, text string) {
		if text == "" {
			b.WriteString("<td class=\"none\"></td>")
			return
		}
		b.WriteString("<td data-head=\"" + head + "\"")
		if class != "" {
			b.WriteString(" class=\"" + class + "\"")
		}
		b.WriteString(">" + text + "</td>")
	}
	if changed {
		cell("Draft", "", escape(numberList(n, n.From, style)+unit))
		cell("Now", "now", escape(numberList(n, n.To, style)+unit))
	} else {
		cell("Draft and now", "", escape(numberList(n, n.To, style)+unit))
	}
	cell("Should be", "", sizeList(n.Wanted, o, c, style))
	cell("Comes to", "", sizeList(n.Measures, o, c, style))
	cell("Why", "why", why(n))
	b.WriteString("</tr>\n")
}

func unitWord(n *rewrite.Number) string {
	many := "s"
	if one(n.To) && one(n.From) {
		many = ""
	}
	switch n.Kind {
	case dsl.Stitches:
		return " st" + many
	case dsl.Rows:
		switch n.Unit {
		case grammar.Rounds:
			return " round" + many
		case grammar.Ridges:
			return " ridge" + many
		}
		return " row" + many
	case dsl.Length:
		return " " + unitName(n.Unit)
	case dsl.Times:
		return " time" + many
	case dsl.Yarn:
		if k := kindName(n); k != "yarn" {
			return " " + k
		}
	}
	return ""
}

func one(x []*big.Rat) bool {
	for _, v := range x {
		if v == nil || !v.IsInt() || v.Num().Cmp(big.NewInt(1)) != 0 {
			return false
		}
	}
	return true
}

// numberList is a number's values in the layout of the draft, as they are written there.
func numberList(n *rewrite.Number, x []*big.Rat, s grammar.ListStyle) string {
	vals := make([]string, len(x))
	for i, v := range x {
		switch {
		case v == nil:
			vals[i] = "–"
		case n.Unit.IsLength():
			vals[i] = tape(inCm(v, n.Unit), n.Unit)
		default:
			vals[i] = decimals(v, 2)
		}
	}
	return list(vals, s)
}

// sizeList is a number's sizes to the tenth of a centimetre, or the hundredth of an inch where the reader has inches:
// finer than a tape is read, so that one can see how near the whole number came.
func sizeList(x []*big.Rat, o Options, c *rewrite.Conversion, s grammar.ListStyle) string {
	unit := grammar.Centimetres
	if o.Units == "in" || o.Units == "" && draftedInInches(c) {
		unit = grammar.Inches
	}
	vals := make([]string, len(x))
	any := false
	for i, v := range x {
		if v == nil {
			vals[i] = "–"
			continue
		}
		any = true
		if unit == grammar.Inches {
			vals[i] = decimals(new(big.Rat).Quo(v, inch), 2)
		} else {
			vals[i] = decimals(v, 1)
		}
	}
	if !any {
		return ""
	}
	return escape(list(vals, s)) + " " + unitName(unit)
}

// draftedInInches says whether the draft's measures are in inches, or its gauge is where it has none.
func draftedInInches(c *rewrite.Conversion) bool {
	for _, m := range c.Measures {
		if m.Length {
			return m.Unit == grammar.Inches
		}
	}
	return len(c.Gauges) > 0 && c.Gauges[0].Over != nil && !c.Gauges[0].Over.IsInt()
}

func why(n *rewrite.Number) string {
	var s string
	switch {
	case n.Tied:
		s = "follows its tie"
	case n.Kind == dsl.Times:
		s = "follows from the counts"
	case n.Kind == dsl.Yarn:
		s = "scales with the area"
	case len(n.Wanted) > 0 && n.Wanted[0] != nil:
		s = "keeps its drafted size"
	default:
		s = "follows from the others"
	}
	if n.Assumed {
		s += ", at an assumed gauge"
	}
	return s
}

// sentence shows a sentence that was written anew, word by word.
func sentence(b *bytes.Buffer, c *rewrite.Conversion, t *rewrite.MarkText) {
	var now strings.Builder
	for _, p := range t.Pieces {
		now.WriteString(p.Text)
	}
	var was string
	if t.Mark >= 0 && t.Mark < len(c.Draft.File.Marks) {
		was = c.Draft.File.Text(c.Draft.File.Marks[t.Mark].PhraseSpan)
	}
	b.WriteString("<p class=\"sentence\"><span class=\"sr\">Written anew: </span>")
	for _, d := range wordDiff(plain(was), plain(strings.TrimSpace(now.String()))) {
		switch d.Type {
		case diffmatchpatch.DiffEqual:
			b.WriteString(escape(d.Text))
		case diffmatchpatch.DiffDelete:
			b.WriteString("<del><span class=\"sr\">[out: </span>" + escape(d.Text) + "<span class=\"sr\">]</span></del>")
		case diffmatchpatch.DiffInsert:
			b.WriteString("<ins><span class=\"sr\">[in: </span>" + escape(d.Text) + "<span class=\"sr\">]</span></ins>")
		}
	}
	b.WriteString("</p>\n")
}

// The most words of a sentence that are compared; a longer one is shown whole, old and new.
const maxWords = 2000

// wordDiff compares two sentences by whole words and numbers, each one symbol, so that 112 never half becomes 128.
func wordDiff(was, now string) []diffmatchpatch.Diff {
	a, b := tokens(was), tokens(now)
	if len(a) > maxWords || len(b) > maxWords {
		return []diffmatchpatch.Diff{{Type: diffmatchpatch.DiffDelete, Text: was}, {Type: diffmatchpatch.DiffInsert, Text: now}}
	}
	symbols := map[string]rune{}
	var words []string
	encode := func(ts []string) []rune {
		out := make([]rune, len(ts))
		for i, t := range ts {
			r, ok := symbols[t]
			if !ok {
				// Private use: never a surrogate, and every one a symbol of its own.
				r = rune(0xf0000 + len(words))
				symbols[t] = r
				words = append(words, t)
			}
			out[i] = r
		}
		return out
	}
	x, y := encode(a), encode(b)
	d := diffmatchpatch.New()
	d.DiffTimeout = 0 // a result never depends on how busy the machine is
	out := d.DiffMainRunes(x, y, false)
	for i := range out {
		var s strings.Builder
		for _, r := range out[i].Text {
			s.WriteString(words[r-0xf0000])
		}
		out[i].Text = s.String()
	}
	return out
}

// tokens cuts text into words and numbers with what is written onto them, single signs, and single blanks.
func tokens(s string) []string {
	var out []string
	start, kind := 0, 0
	for i, r := range s {
		k := 2
		switch {
		case r == ' ' || r == '\t' || r == '\u00a0':
			k = 1
		case strings.ContainsRune("()[],:;+*/", r):
			k = 3
		}
		if i > start && (k != kind || k == 3) {
			out = append(out, s[start:i])
			start = i
		}
		kind = k
	}
	if start < len(s) {
		out = append(out, s[start:])
	}
	return out
}
