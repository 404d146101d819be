package render

import (
	"cmp"
	_ "embed"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

//go:embed schematic.css
var schematicCSS string

// A drawing is measured in units of which a figure is 33 tall, at a scale that all pieces of a pattern share. The piece stands in
// the middle, counts and widths in a column at its left, rows and heights in one at its right, each joined to its place by a
// line: so that no figure can lie on another or leave the picture.
const (
	gutter  = 64 // between a piece and a column of figures
	leading = 40 // from one line of figures to the next
	margin  = 20
)

// room is what the largest piece of a pattern may take.
type room struct{ wide, tall int }

var (
	onPage  = room{560, 700}
	onSheet = room{540, 840}
)

// drawnAt is the scale of a drawing: the units to ten centimetres of cloth.
type drawnAt int

// scaleOf is the largest scale at which every piece of a conversion has room, in all sizes, as drafted and as converted.
func scaleOf(all [][]rewrite.Outline, r room) drawnAt {
	wide, tall := 1.0, 1.0 // centimetres
	for _, pieces := range all {
		for i := range pieces {
			for _, x := range []*rewrite.Shape{&pieces[i].Was, &pieces[i].Now} {
				left, right, top := x.Bounds()
				wide, tall = max(wide, right.Minus(left).Float()), max(tall, top.Float())
			}
		}
	}
	return drawnAt(max(1, min(float64(r.wide)*10/wide, float64(r.tall)*10/tall)))
}

// units is a length in centimetres in the units of a drawing.
func (s drawnAt) units(cm dsl.Fraction) int {
	return int(math.Round(cm.Float() * float64(s) / 10))
}

// level is a height at which an outline turns: the parts of the piece just below it, and after what happens there.
type level struct {
	row           int64
	y             dsl.Fraction
	left, right   dsl.Fraction // its outermost places, once reached
	reached       bool
	inner         bool // nothing turns here
	before, after []stretchOf
}

// stretchOf is a part of a piece at a level.
type stretchOf struct {
	part        int
	stitches    int64
	left, right dsl.Fraction
}

func (s stretchOf) width() dsl.Fraction { return s.right.Minus(s.left) }

// levels are the heights at which a shape turns, from below. Steps within a stepped bind-off are left out: the level where it
// begins has what it begins with, and the next one what it leaves.
func levels(x *rewrite.Shape) []level {
	if len(x.Bands) == 0 {
		return nil
	}
	all := make([]level, 0, len(x.Bands)+1)
	get := func(row int64, y dsl.Fraction) int {
		for i := len(all) - 1; i >= 0; i-- {
			if all[i].row == row {
				return i
			}
		}
		all = append(all, level{row: row, y: y})
		return len(all) - 1
	}
	room := make([]stretchOf, 0, 2*len(x.Bands))
	put := func(to *[]stretchOf, s stretchOf) {
		if *to != nil {
			*to = append(*to, s)
			return
		}
		room = append(room, s)
		*to = slices.Clip(room[len(room)-1:])
	}
	steps := stairways(x)
	// Two sides may end a row or two apart, as their bindings-off begin on different sides of the cloth: both are the top.
	rows, top, ends := x.Rows(), &x.Bands[len(x.Bands)-1], map[int]int64{}
	for i := range x.Bands {
		ends[x.Bands[i].Part] = x.Bands[i].Row1
		if x.Bands[i].Row1 == rows {
			top = &x.Bands[i]
		}
	}
	for i := range x.Bands {
		b := &x.Bands[i]
		below, above := get(b.Row0, b.Y0), get(b.Row1, b.Y1)
		if ends[b.Part] == b.Row1 && b.Part > 0 && top.Row1-b.Row1 <= 3 {
			if b.Row1 != top.Row1 {
				all[above].inner = true
			}
			above = get(top.Row1, top.Y1)
		}
		lo, hi := &all[below], &all[above]
		lo.reach(b.Left0, b.Right0)
		hi.reach(b.Left1, b.Right1)
		put(&hi.before, stretchOf{b.Part, b.Stitches1, b.Left1, b.Right1})
		if i > 0 && (steps[i] != 0 && steps[i] == steps[i-1] || goesOn(&x.Bands[i-1], b)) {
			lo.inner = true
			continue
		}
		if i+1 < len(x.Bands) && steps[i] != 0 && steps[i] == steps[i+1] {
			continue
		}
		put(&lo.after, stretchOf{b.Part, b.Stitches0, b.Left0, b.Right0})
	}
	out := slices.DeleteFunc(all, func(l level) bool { return l.inner && l.row != rows })
	for i := range out {
		l := &out[i]
		l.after = follow(l.before, l.after)
		if len(l.before) == 0 {
			l.before = l.after
		}
		inOrder(l.before)
	}
	slices.SortFunc(out, func(a, b level) int { return cmp.Compare(a.row, b.row) })
	return out
}

// goesOn says whether the edges of a band go on straight in the next.
func goesOn(a, b *rewrite.Band) bool {
	if a.Part != b.Part || a.Row1 != b.Row0 || a.Left1.Cmp(b.Left0) != 0 || a.Right1.Cmp(b.Right0) != 0 {
		return false
	}
	below, above := a.Y1.Minus(a.Y0), b.Y1.Minus(b.Y0)
	alike := func(a0, a1, b0, b1 dsl.Fraction) bool {
		return a1.Minus(a0).Over(below).Cmp(b1.Minus(b0).Over(above)) == 0
	}
	return alike(a.Left0, a.Left1, b.Left0, b.Left1) && alike(a.Right0, a.Right1, b.Right0, b.Right1)
}

// stairways numbers the bands that are steps of one another: stretches bound off in turn, with no more than a row or two between.
// A band of none has 0.
func stairways(x *rewrite.Shape) []int {
	out := make([]int, len(x.Bands))
	n, on := 0, false
	for i := range x.Bands {
		b := &x.Bands[i]
		plain := b.Row1-b.Row0 <= 2 && b.Stitches0 == b.Stitches1
		switch {
		case on && x.Bands[i-1].Part == b.Part && (b.Stairs || plain):
		case b.Stairs:
			n++
			on = true
		default:
			on = false
		}
		if on {
			out[i] = n
		}
	}
	return out
}

func (l *level) reach(left, right dsl.Fraction) {
	if !l.reached || left.Cmp(l.left) < 0 {
		l.left = left
	}
	if !l.reached || right.Cmp(l.right) > 0 {
		l.right = right
	}
	l.reached = true
}

func inOrder(list []stretchOf) {
	slices.SortStableFunc(list, func(a, b stretchOf) int { return a.left.Cmp(b.left) })
}

// follow is what becomes of parts: those that go on are as they are then, those that do not as they were, and one that others stand
// on has given way to them. It puts now in order.
func follow(was, now []stretchOf) []stretchOf {
	out := slices.Clip(now)
	for _, s := range was {
		gone := slices.ContainsFunc(out, func(o stretchOf) bool { return o.part == s.part || o.part/10 == s.part && o.part > s.part })
		if !gone {
			out = append(out, s)
		}
	}
	inOrder(out)
	return out
}

// apart puts levels together that would lie on one another when drawn: the row of the first counts, but of the last ones that of
// the top.
func apart(all []level, at drawnAt) []level {
	const least = 24
	var out []level
	for i, l := range all {
		k := len(out) - 1
		last := i == len(all)-1
		if k < 0 || at.units(l.y)-at.units(out[k].y) >= least || last && k == 0 {
			out = append(out, l)
			continue
		}
		if parting := len(out[k].before) == 1 && len(out[k].after) == 2; !parting {
			out[k].after = follow(out[k].after, l.after)
		}
		if last {
			out[k].row, out[k].y, out[k].left, out[k].right = l.row, l.y, l.left, l.right
		}
	}
	return out
}

// figures is something of a level's parts in words, before and after: `98, then 86`, `2 × 20`, `27 + 14 + 27`.
func (l *level) figures(say func(s stretchOf) string, gap func(from, to stretchOf) string) string {
	list := func(of []stretchOf) string {
		if len(of) == 1 {
			return say(of[0])
		}
		texts := make([]string, len(of))
		for i, s := range of {
			texts[i] = say(s)
		}
		if len(of) == 2 && texts[0] == texts[1] {
			return "2 × " + texts[0]
		}
		return strings.Join(texts, " + ")
	}
	if len(l.before) == 1 && len(l.after) == 2 {
		// It parts here: its stitches add up to what it had.
		a, b := l.after[0], l.after[1]
		if between := gap(a, b); between != "" {
			return say(a) + " + " + between + " + " + say(b)
		}
		return say(a) + " + " + say(b)
	}
	before := list(l.before)
	if slices.Equal(l.before, l.after) {
		return before
	}
	after := list(l.after)
	if before == after {
		return after
	}
	return before + ", then " + after
}

func (l *level) stitches() string {
	return l.figures(func(s stretchOf) string { return strconv.FormatInt(s.stitches, 10) }, func(a, b stretchOf) string {
		if n := l.before[0].stitches - a.stitches - b.stitches; n > 0 && a.right.Cmp(b.left) < 0 {
			return strconv.FormatInt(n, 10)
		}
		return ""
	}) + " sts"
}

func (l *level) width(u grammar.Unit) string {
	return l.figures(func(s stretchOf) string { return outcome(s.width(), u) }, func(a, b stretchOf) string {
		if a.right.Cmp(b.left) < 0 {
			return outcome(b.left.Minus(a.right), u)
		}
		return ""
	}) + " " + unitName(u)
}

// figure is a note beside a drawing.
type figure struct {
	lines []string
	x, y  int // the place it is about
	at    int // the middle of its lines
}

func (f *figure) tall() int { return len(f.lines)*leading + 14 }

// spreadOut finds for figures, from above, places that are as near as can be to what they are about and do not lie on one another.
// Those that push one another go as one block, whose middle lies where theirs would on average.
func spreadOut(all []figure) {
	type block struct{ first, n, tall, want int } // want is the sum of where each would have the top of the block
	var blocks []block
	for i := range all {
		h := all[i].tall()
		blocks = append(blocks, block{i, 1, h, all[i].y - h/2})
		for k := len(blocks) - 1; k > 0; k-- {
			a, b := &blocks[k-1], &blocks[k]
			if a.want/a.n+a.tall <= b.want/b.n {
				break
			}
			a.want += b.want - b.n*a.tall
			a.n, a.tall = a.n+b.n, a.tall+b.tall
			blocks = blocks[:k]
		}
	}
	for _, b := range blocks {
		top := b.want / b.n
		for i := b.first; i < b.first+b.n; i++ {
			h := all[i].tall()
			all[i].at = top + h/2
			top += h
		}
	}
}

// drawing is a piece as an SVG picture without its frame: a group to be put into one.
type drawing struct {
	body       markup
	wide, tall int
	levels     []level // where it turns
}

// shown is the shape of a piece that its figures are about: the new one, or that of a piece that is gone.
func shown(o *rewrite.Outline) *rewrite.Shape {
	if o.Is == rewrite.Dropped {
		return &o.Was
	}
	return &o.Now
}

// draw draws a piece: what it was behind it, dashed, where that differs.
func draw(o *rewrite.Outline, at drawnAt, first, second grammar.Unit) *drawing {
	x := shown(o)
	d := &drawing{levels: levels(x)}
	d.body.Grow(3072)
	left, right, top := x.Bounds()
	for _, w := range x.Wedges {
		if over := w.Y.Plus(w.Height); over.Cmp(top) > 0 {
			top = over
		}
	}
	behind := hasBehind(o)
	if behind {
		l, r, t := o.Was.Bounds()
		if l.Cmp(left) < 0 {
			left = l
		}
		if r.Cmp(right) > 0 {
			right = r
		}
		if t.Cmp(top) > 0 {
			top = t
		}
	}
	lefts, rights := beside(o, d.levels, at, first, second)
	over := 0 // how far figures reach above the piece
	under := at.units(top)
	for _, list := range [][]figure{lefts, rights} {
		for i := range list {
			list[i].y += at.units(top)
		}
		spreadOut(list)
		for i := range list {
			over = min(over, list[i].at-list[i].tall()/2)
			under = max(under, list[i].at+list[i].tall()/2)
		}
	}
	x0 := margin + columnWide(lefts) + gutter - at.units(left)
	y0 := margin - over
	d.wide = x0 + at.units(right) + gutter + columnWide(rights) + margin
	d.tall = y0 + under + margin
	m := &d.body
	path := func(s *rewrite.Shape, class string) {
		m.raw(`<path class="`, class, `" d="`)
		for i, c := range s.Corners {
			to := "L"
			if i == 0 {
				to = "M"
			}
			m.point(to, x0+at.units(c.X), y0+at.units(top)-at.units(c.Y))
		}
		m.raw("z\"/>")
	}
	if behind || x == &o.Was {
		path(&o.Was, "sw")
	}
	if x == &o.Now {
		path(&o.Now, "so")
	}
	d.inside(x, x0, y0+at.units(top), at)
	d.arrow(x, x0, y0+at.units(top), at)
	d.column(lefts, x0, y0, x0+at.units(left)-gutter, true)
	d.column(rights, x0, y0, x0+at.units(right)+gutter, false)
	return d
}

// inside draws what lies inside an outline: lines where parts meet, and wedges of short rows.
func (d *drawing) inside(x *rewrite.Shape, x0, bottom int, at drawnAt) {
	m := &d.body
	put := func(step string, x, y dsl.Fraction) { m.point(step, x0+at.units(x), bottom-at.units(y)) }
	if len(x.Lines) > 0 {
		m.raw(`<path class="sj" d="`)
		for _, l := range x.Lines {
			put("M", l.X0, l.Y0)
			put("L", l.X1, l.Y1)
		}
		m.raw(`"/>`)
	}
	for _, w := range x.Wedges {
		m.raw(`<path class="sg" d="`)
		over := w.Y.Plus(w.Height)
		put("M", w.Near, w.Y)
		put("L", w.Turn, over)
		put("L", w.Far, over)
		put("L", w.Far, w.Y)
		m.raw(`z"/>`)
	}
}

// point writes a step of a path to a point.
func (m *markup) point(step string, x, y int) {
	m.raw(step)
	m.whole(x)
	m.raw(" ")
	m.whole(y)
}

// arrow shows which way a piece is worked, where there is room for it.
func (d *drawing) arrow(x *rewrite.Shape, x0, bottom int, at drawnAt) {
	b := &x.Bands[0]
	_, _, top := x.Bounds()
	if at.units(top) < 130 || at.units(b.Right0.Minus(b.Left0)) < 60 {
		return
	}
	d.body.raw(`<path class="sl" d="`)
	d.body.point("M", x0, bottom-22)
	d.body.raw(`v-62m-13 17l13 -17l13 17"/>`)
}

// beside are the figures at the left and at the right of a piece, from above; y counts from its first row, downwards.
func beside(o *rewrite.Outline, turns []level, at drawnAt, first, second grammar.Unit) (lefts, rights []figure) {
	all := apart(turns, at)
	lefts, rights = make([]figure, 0, len(all)), make([]figure, 0, len(all))
	for i := len(all) - 1; i >= 0; i-- {
		l := &all[i]
		f := figure{x: at.units(l.left), y: -at.units(l.y), lines: []string{l.stitches()}}
		across := ""
		if o.Round {
			across = " across"
		}
		a, b := l.width(first), l.width(second)
		if one := a + " · " + b; len([]rune(one+across)) <= 18 {
			f.lines = append(f.lines, one+across)
		} else {
			f.lines = append(f.lines, a+across, b+across)
		}
		lefts = append(lefts, f)
		if l.row == 0 {
			continue
		}
		rows := "row "
		if o.Round {
			rows = "round "
		}
		rights = append(rights, figure{x: at.units(l.right), y: f.y, lines: []string{rows + strconv.FormatInt(l.row, 10),
			bothLengths(l.y, first, second)}})
	}
	for _, w := range shown(o).Wedges {
		f := figure{x: at.units(w.Far), y: -at.units(w.Y.Plus(w.Height.Over(dsl.FractionOf(2)))), lines: []string{wedgeRows(&w), bothLengths(w.Height, first, second)}}
		k := 0
		for k < len(rights) && rights[k].y < f.y {
			k++
		}
		rights = slices.Insert(rights, k, f)
	}
	return lefts, rights
}

// wedgeRows says how many rows a wedge adds.
func wedgeRows(w *rewrite.Wedge) string { return "+ " + strconv.FormatInt(w.Rows, 10) + " short rows" }

func bothLengths(cm dsl.Fraction, first, second grammar.Unit) string {
	return outcome(cm, first) + " " + unitName(first) + " · " + outcome(cm, second) + " " + unitName(second)
}

// wideOf is the room a line of figures takes, on the safe side: a digit is 0.556 of its size wide in the faces that are asked for.
func wideOf(line string, bold bool) int {
	if n := len([]rune(line)); bold {
		return n * 20
	} else {
		return n * 17
	}
}

// columnWide is the room a column of figures takes.
func columnWide(list []figure) int {
	n := 0
	for _, f := range list {
		for i, l := range f.lines {
			n = max(n, wideOf(l, i == 0))
		}
	}
	return n
}

// column writes figures, each with the line to its place. edge is the side of the column that faces the piece.
func (d *drawing) column(list []figure, x0, y0, edge int, left bool) {
	m := &d.body
	away, anchor := 1, ""
	if left {
		away, anchor = -1, ` text-anchor="end"`
	}
	m.raw(`<path class="sl" d="`)
	for _, f := range list {
		m.point("M", x0+f.x, y0+f.y)
		m.raw("H")
		m.whole(edge - away*52)
		m.point("L", edge-away*12, y0+f.at)
	}
	m.raw(`"/><path class="sd" d="`)
	for _, f := range list {
		m.point("M", x0+f.x, y0+f.y)
		m.raw("h0")
	}
	m.raw(`"/>`)
	for _, bold := range []bool{true, false} {
		class := "st"
		if bold {
			class = "st sb"
		}
		m.raw(`<g class="`, class, `"`, anchor, `>`)
		for _, f := range list {
			y := y0 + f.at - (len(f.lines)-1)*leading/2 + 12
			for i, l := range f.lines {
				if (i == 0) != bold {
					continue
				}
				m.raw(`<text x="`)
				m.whole(edge)
				m.raw(`" y="`)
				m.whole(y + i*leading)
				m.raw(`">`)
				m.text(l)
				m.raw("</text>")
			}
		}
		m.raw("</g>")
	}
}

// plates are the drawings of a page: what is drawn, and in which words.
type plates struct {
	sizes         []string // as they are headed
	all           [][]rewrite.Outline
	first, second grammar.Unit // the units they are marked in
	now, before   string       // what the two outlines of a piece are called
	beforeHead    string       // the head of the column of what was
}

// platesOf are the drawings of a conversion, marked in the draft's own unit first.
func platesOf(c *rewrite.Conversion, o Options) plates {
	p := plates{sizes: sizeNames(c), all: c.Outlines(), now: "this copy", before: "the draft", beforeHead: "As drafted"}
	if len(p.all) > 0 {
		p.first, p.second = bothUnits(c.Draft.Unit(), o)
	}
	return p
}

// platesOfReview are the drawings of a review.
func platesOfReview(r *rewrite.Comparison, o Options) plates {
	if r.Conversion != nil {
		return platesOf(r.Conversion, o)
	}
	p := plates{all: r.Outlines(), now: "the new version", before: "the old one", beforeHead: "Before"}
	for _, s := range r.Sizes {
		if s.New >= 0 {
			p.sizes = append(p.sizes, s.Name)
		}
	}
	p.first, p.second = bothUnits(r.New.Unit, o)
	return p
}

func bothUnits(drafted grammar.Unit, o Options) (first, second grammar.Unit) {
	if first, _ = o.shown(drafted); first == grammar.Inches {
		return first, grammar.Centimetres
	}
	return first, grammar.Inches
}

// pieceNote says what has to be known of a piece to read its drawing.
func pieceNote(o *rewrite.Outline) string {
	var s string
	switch o.Is {
	case rewrite.Added:
		s = "New."
	case rewrite.Dropped:
		s = "No longer there."
	}
	if o.Round {
		s += " Worked in the round: half the girth is shown."
	}
	if o.Times > 1 {
		s += " Made " + timesWord(o.Times) + "."
	}
	for _, a := range o.Also {
		s += " " + capital(a) + " likewise, left and right exchanged."
	}
	for _, n := range o.Notes {
		s += " " + n
	}
	return strings.TrimPrefix(s, " ")
}

func timesWord(n int64) string {
	if n == 2 {
		return "twice"
	}
	return strconv.FormatInt(n, 10) + " times"
}

// capital is words with a capital at their beginning.
func capital(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
	return string(r)
}

// figuresLegend says what the figures of a drawing are: it stands on paper, too.
const figuresLegend = "At the left of each piece stand stitches and widths, at its right rows and heights from its first row; an arrow points the way the work grows."

// legend says what else has to be known of the drawings, those of some pieces at least.
func (p *plates) legend(pieces ...[]rewrite.Outline) string {
	s := "Drawn to one scale, with the right side in view and the first row below."
	if differs(pieces) {
		s += " The line is " + p.now + "; where " + p.before + " differs it is dotted."
	}
	if slices.ContainsFunc(pieces, func(size []rewrite.Outline) bool {
		return slices.ContainsFunc(size, func(o rewrite.Outline) bool { return len(shown(&o).Lines) > 0 })
	}) {
		s += " Fine dashed lines inside a piece are where its parts meet."
	}
	return s
}

// hasBehind says whether another outline lies behind that of a piece.
func hasBehind(o *rewrite.Outline) bool {
	return o.Is != rewrite.Dropped && len(o.Was.Corners) > 0 && !o.Was.Same(&o.Now)
}

// differs says whether any piece has another outline behind it, or is one that is gone.
func differs(all [][]rewrite.Outline) bool {
	for _, pieces := range all {
		for i := range pieces {
			if hasBehind(&pieces[i]) || pieces[i].Is == rewrite.Dropped {
				return true
			}
		}
	}
	return false
}

// schematic is the pieces of one size as figures to scale, with the same in a table below them.
func (p *plates) schematic(m *markup, pieces []rewrite.Outline, at drawnAt) {
	turns := make([][]level, len(pieces))
	m.raw("<div class=\"drawn\">\n")
	for i := range pieces {
		x := &pieces[i]
		d := draw(x, at, p.first, p.second)
		turns[i] = d.levels
		m.raw(`<figure><svg role="img" viewBox="0 0 `)
		m.whole(d.wide)
		m.raw(" ")
		m.whole(d.tall)
		m.raw(`" width="`, strconv.Itoa(d.wide/100), ".", strconv.Itoa(d.wide/10%10), `em" aria-label="`)
		m.text(x.Name)
		m.raw(`, to scale; its figures are in the table below">`)
		_, _ = m.Write(d.body.Bytes())
		m.raw("</svg><figcaption><b>")
		m.text(x.Name)
		m.raw(".</b>")
		if note := pieceNote(x); note != "" {
			m.raw(" ")
			m.text(note)
		}
		m.raw("</figcaption></figure>\n")
	}
	m.raw("</div>\n")
	p.table(m, pieces, turns)
}

// table is what the drawings show, in figures; turns are the levels of each piece.
func (p *plates) table(m *markup, pieces []rewrite.Outline, turns [][]level) {
	was := differs([][]rewrite.Outline{pieces})
	m.raw("<details class=\"figures\"><summary>The same in figures</summary>\n<div class=\"frame\" role=\"group\" aria-label=\"The pieces in figures\" tabindex=\"0\"><table>\n<thead><tr><th scope=\"col\">Row</th><th scope=\"col\">Height</th><th scope=\"col\">Stitches</th><th scope=\"col\">Width</th>")
	if was {
		m.raw(`<th scope="col">`, p.beforeHead, `</th>`)
	}
	m.raw("</tr></thead>\n")
	for i := range pieces {
		x := &pieces[i]
		m.raw(`<tbody><tr><th scope="rowgroup" colspan="`)
		if was {
			m.raw("5")
		} else {
			m.raw("4")
		}
		m.raw(`">`)
		m.text(x.Name)
		m.raw("</th></tr>\n")
		now, then := turns[i], levels(&x.Was)
		if x.Is == rewrite.Dropped {
			now = nil
		}
		p.rows(m, now, then, was)
		for _, w := range shown(x).Wedges {
			m.raw("<tr><td>", strconv.FormatInt(w.Row, 10), "</td><td>", outcome(w.Y, p.first), " ", unitName(p.first), " [", outcome(w.Y, p.second), " ", unitName(p.second), "]</td><td colspan=\"2\">",
				wedgeRows(&w), " at the far edge, ", bothLengths(w.Height, p.first, p.second), "</td>")
			if was {
				m.raw("<td></td>")
			}
			m.raw("</tr>\n")
		}
		m.raw("</tbody>\n")
	}
	m.raw("</table></div></details>\n")
}

func (p *plates) rows(m *markup, now, then []level, was bool) {
	first, second := p.first, p.second
	for i := range max(len(now), len(then)) {
		m.raw("<tr>")
		if i < len(now) {
			l := &now[i]
			m.raw("<td>", strconv.FormatInt(l.row, 10), "</td><td>", outcome(l.y, first), " ", unitName(first), " [", outcome(l.y, second), " ", unitName(second), "]</td><td>",
				l.stitches(), "</td><td>", l.width(first), " [", l.width(second), "]</td>")
		} else {
			m.raw(`<td colspan="4"></td>`)
		}
		if was {
			m.raw("<td>")
			if i < len(then) {
				l := &then[i]
				m.raw("row ", strconv.FormatInt(l.row, 10), ", ", outcome(l.y, first), " ", unitName(first), ": ", l.stitches(), ", ", l.width(first))
			}
			m.raw("</td>")
		}
		m.raw("</tr>\n")
	}
}

// pieceRules leave out the pieces of other sizes where the reader of a page has chosen one.
func pieceRules(sizes int) string {
	var b strings.Builder
	for k := 1; k <= sizes && sizes > 1; k++ {
		n := strconv.Itoa(k)
		b.WriteString(":root:has(.c" + n + ":checked) .onesize:not(.p" + n + "){display:none}")
	}
	return b.String()
}

// drawn are the schematics of every size.
func (p *plates) drawn() [][]byte {
	if len(p.all) == 0 {
		return nil
	}
	at := scaleOf(p.all, onPage)
	out := make([][]byte, len(p.all))
	dsl.SideBySide(len(p.all), func(t int) {
		var m markup
		m.Grow(4096 * len(p.all[t]))
		p.schematic(&m, p.all[t], at)
		out[t] = m.Bytes()
	})
	return out
}

type piecesKey struct{ first, second grammar.Unit }

// piecesBySize are the schematics of every size of a conversion. The page and the changes both have them, so they are drawn once.
func piecesBySize(c *rewrite.Conversion, o Options) [][]byte {
	p := platesOf(c, o)
	return c.Keep(piecesKey{p.first, p.second}, func() any { return p.drawn() }).([][]byte)
}

// bytesOf is how much schematics add to a page.
func bytesOf(drawn [][]byte) int {
	n := 0
	for _, d := range drawn {
		n += len(d)
	}
	return n
}

// section is the pieces of every size, as they were drawn, folded away where that is asked for.
func (p *plates) section(m *markup, drawn [][]byte, folded bool) {
	if len(p.all) == 0 || len(p.all[0]) == 0 {
		return
	}
	m.raw("<section class=\"pieces\" aria-labelledby=\"the.pieces\">\n<h2 id=\"the.pieces\">The pieces</h2>\n<p class=\"legend\">", figuresLegend, "<span> ")
	m.text(p.legend(p.all...))
	if !folded && len(p.all) > 1 {
		m.raw(" With a size chosen, its drawings are printed.")
	}
	m.raw("</span></p>\n")
	for t, size := range drawn {
		open, head, end := `<div class="onesize p`+strconv.Itoa(t+1)+"\"><h3>", "</h3>\n", "</div>\n"
		if folded {
			open, head, end = "<details><summary>", "</summary>\n", "</details>\n"
		}
		if len(p.all) > 1 || folded {
			m.raw(open)
			if len(p.all) > 1 {
				m.raw("Size ")
				m.text(p.sizes[t])
			} else {
				m.raw("The drawings")
			}
			m.raw(head)
		}
		_, _ = m.Write(size)
		if len(p.all) > 1 || folded {
			m.raw(end)
		}
	}
	m.raw("</section>\n")
}

// Schematics are the pieces of each size as a sheet of its own, an SVG file a size.
func Schematics(c *rewrite.Conversion, o Options) []Output {
	p := platesOf(c, o)
	at := scaleOf(p.all, onSheet)
	var out []Output
	taken := map[string]int{}
	for t, pieces := range p.all {
		if len(pieces) == 0 {
			continue
		}
		name := slug(c.Targets[t].Name)
		if name == "" {
			name = "pieces"
		}
		if taken[name]++; taken[name] > 1 {
			name += "-" + strconv.Itoa(taken[name])
		}
		out = append(out, Output{Path: "schematics/" + name + ".svg", Text: p.sheet(c, t, at)})
	}
	return out
}

// sheet puts the drawings of a size on a sheet, two beside each other where they have room.
func (p *plates) sheet(c *rewrite.Conversion, t int, at drawnAt) []byte {
	const wide, head, caption = 2600, 250, 110
	pieces := p.all[t]
	var body markup
	y, x, row := head, 0, 0
	for i := range pieces {
		d := draw(&pieces[i], at, p.first, p.second)
		if x > 0 && x+d.wide > wide {
			x, y, row = 0, y+row, 0
		}
		body.raw(`<g transform="translate(`, strconv.Itoa(x), " ", strconv.Itoa(y), `)"><text class="st sb" x="`, strconv.Itoa(margin), `" y="40">`)
		body.text(pieces[i].Name)
		body.raw(`</text>`)
		lines := broken(pieceNote(&pieces[i]), (d.wide-2*margin)/wideOf(" ", false))
		for k, l := range lines {
			body.raw(`<text class="st" x="`, strconv.Itoa(margin), `" y="`, strconv.Itoa(82+40*k), `">`)
			body.text(l)
			body.raw(`</text>`)
		}
		down := caption + 40*max(0, len(lines)-1)
		body.raw(`<g transform="translate(0 `, strconv.Itoa(down), `)">`)
		_, _ = body.Write(d.body.Bytes())
		body.raw("</g></g>\n")
		row = max(row, d.tall+down+60)
		x += max(d.wide+60, wide/2)
	}
	tall := y + row
	var m markup
	name := title(c.Draft.File)
	if s := c.Targets[t].Name; s != "" {
		name += ", size " + s
	}
	m.raw(`<svg xmlns="http://www.w3.org/2000/svg" width="190mm" height="`, strconv.Itoa(tall*190/wide), `mm" viewBox="0 0 `, strconv.Itoa(wide), " ", strconv.Itoa(tall), "\">\n<title>")
	m.text(name)
	m.raw("</title>\n<style>", sheetStyle, "</style>\n<rect class=\"sp\" width=\"100%\" height=\"100%\"/>\n<text class=\"st sh\" x=\"20\" y=\"62\">")
	m.text(name)
	m.raw("</text>\n")
	for k, l := range broken(p.legend(pieces)+" "+figuresLegend, 130) {
		m.raw(`<text class="st" x="20" y="`, strconv.Itoa(112+40*k), `">`)
		m.text(l)
		m.raw("</text>\n")
	}
	_, _ = m.Write(body.Bytes())
	m.raw("</svg>\n")
	return m.Bytes()
}

// sheetStyle is the style of a sheet that stands by itself: on white paper, or light on dark where that is wished for.
var sheetStyle = ":root{max-width:100%;height:auto;--paper:#fff;--ink:#23211e;--quiet:#5d5850;--wash:#f3efe7}@media (prefers-color-scheme:dark){:root{--paper:#191a1d;--ink:#ebe7e0;--quiet:#b4ada2;--wash:#2b2c31}}" +
	"@media print{:root{--paper:#fff;--ink:#000;--quiet:#444;--wash:#f3f3f3}}.sp{fill:var(--paper)}" + schematicStyles + ".sh{font-size:52px;font-weight:600}"

var schematicStyles = strings.ReplaceAll(schematicCSS, "\n", "")

// broken is text in lines of so many characters at most, words whole.
func broken(s string, wide int) []string {
	var out []string
	line := ""
	for _, w := range strings.Fields(s) {
		if line != "" && len([]rune(line))+1+len([]rune(w)) > wide {
			out, line = append(out, line), w
			continue
		}
		line = strings.TrimSpace(line + " " + w)
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}
