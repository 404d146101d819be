package rewrite

import (
	"cmp"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"sync"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Outline is one piece of cloth laid flat, in one size, as drafted and as converted. A piece worked in rounds is shown as half its
// girth. Work that was set aside and is worked on flat stands on top of what it came from; any other is a piece of its own.
type Outline struct {
	Name     string   // from the draft's headings
	Also     []string // pieces worked as this one, left and right exchanged
	Mark     int      // the instruction it begins with
	Times    int64    // how often it is made, those not counted
	Is       State    // in a review of two versions: Added and Dropped ones have but one of the shapes
	Round    bool
	Was, Now Shape
	Notes    []string // what the outline does not show
}

// Shape is an outline at one gauge, in centimetres: x from the middle of the first row, to the right with the right side of the cloth
// in view; y upwards from the first row.
type Shape struct {
	Corners []Corner // from the lower left corner, clockwise
	Lines   []Line   // across it: where the parts of a layout meet, from one layout to the next
	Wedges  []Wedge
	Bands   []Band // what it is made of, from below; the left part before the right where there are several
}

// Corner is one corner of a shape.
type Corner struct {
	X, Y     dsl.Fraction
	Stitches int64 // in hand at it, in the round all of them; after a step where the corner is a step's inner one
	Row      int64 // rows worked since the shape's first
}

// Line is a straight line across a shape.
type Line struct{ X0, Y0, X1, Y1 dsl.Fraction }

// Wedge is short rows: rows that the far edge has more than the other, at which stitches are left. They are not among the rows of
// the shape.
type Wedge struct {
	Row, Rows       int64
	Y, Height       dsl.Fraction
	Near, Turn, Far dsl.Fraction // the edge at which stitches are left, the last of the turns, the other edge
}

// Band is a stretch of rows between two straight edges.
type Band struct {
	Row0, Row1           int64 // rows since the shape's first, before and after
	Y0, Y1               dsl.Fraction
	Left0, Right0        dsl.Fraction // at the lower edge
	Left1, Right1        dsl.Fraction // at the upper edge
	Stitches0, Stitches1 int64
	Fabric               int
	Mark                 int  // the instruction that passes its rows
	Part                 int  // 0 the trunk; parts on top of it are numbered from the left
	Stairs               bool // it is a step of several
}

// Area is the square centimetres a shape covers, exact; of work in the round it is half of the cloth.
func (s *Shape) Area() *big.Rat {
	var sum dsl.Fraction
	for i, c := range s.Corners {
		d := s.Corners[(i+1)%len(s.Corners)]
		sum = sum.Plus(c.Y.Times(d.X)).Minus(c.X.Times(d.Y))
	}
	return halved(sum).Rat()
}

// Bounds are the least and greatest x and the greatest y of a shape.
func (s *Shape) Bounds() (left, right, top dsl.Fraction) {
	for _, c := range s.Corners {
		if c.X.Cmp(left) < 0 {
			left = c.X
		}
		if c.X.Cmp(right) > 0 {
			right = c.X
		}
		if c.Y.Cmp(top) > 0 {
			top = c.Y
		}
	}
	return left, right, top
}

// Rows is how many rows a shape is high.
func (s *Shape) Rows() int64 {
	var n int64
	for i := range s.Bands {
		n = max(n, s.Bands[i].Row1)
	}
	return n
}

// Same says whether two shapes have the same corners.
func (s *Shape) Same(o *Shape) bool {
	if len(s.Corners) != len(o.Corners) {
		return false
	}
	for i, c := range s.Corners {
		d := o.Corners[i]
		if c.X.Cmp(d.X) != 0 || c.Y.Cmp(d.Y) != 0 || c.Stitches != d.Stitches || c.Row != d.Row {
			return false
		}
	}
	return true
}

type outlinesKey struct{}

// Outlines are the pieces of every target, in the order in which they are worked. They are kept, see [Conversion.Keep].
func (c *Conversion) Outlines() [][]Outline {
	return c.Keep(outlinesKey{}, func() any { return c.outlines() }).([][]Outline)
}

func (c *Conversion) outlines() [][]Outline {
	then, now := clothGauges(c.Draft.DraftedGauges()), clothGauges(c.Fabrics)
	out := make([][]Outline, len(c.solved))
	dsl.SideBySide(len(c.solved), func(t int) {
		s := c.solved[t]
		size := s.target.Base()
		drafted, is := func(q int) int64 { return c.Draft.Quantities[q].Drafted[size] }, func(q int) int64 { return c.values[t][q] }
		d := drawers.Get().(*drawer)
		defer drawers.Put(d)
		p := planner{d: c.Draft, run: s.run, v: drafted}
		for _, x := range p.pieces() {
			o := x.Outline
			o.Was, o.Now = d.shape(x.plan, then, drafted), d.shape(x.plan, now, is)
			if len(o.Now.Bands) > 0 {
				out[t] = append(out[t], o)
			}
		}
	})
	return out
}

// step is a move with where it stands.
type step struct {
	*dsl.Move
	work, index int
}

// trunk is a stretch of work drawn as one, with parts on top.
type trunk struct {
	steps  []step
	count  dsl.Lin // stitches it begins with, where it is a piece of its own
	row    dsl.Lin
	round  bool
	inner  dsl.Edge // what the inner edge is
	mirror bool     // left and right exchanged
	gap    *dsl.Lin // stitches bound off at the centre below its parts
	parts  []part   // from the left
	laid   []laid
}

// laid is a layout with the row it is stated at.
type laid struct {
	row   dsl.Lin
	parts []int // quantities
}

// part stands on a trunk; sts is how many stitches of it, those of an equal side where it is nil.
type part struct {
	plan *trunk
	sts  *dsl.Lin
}

// planned is a piece that is drawn by itself.
type planned struct {
	Outline
	plan *trunk
	work int
}

// planner finds out what is drawn together. That is decided by the drafted numbers, so that the old and the new outline of a
// piece have the same parts.
type planner struct {
	d   *dsl.Draft
	run *dsl.Run
	v   func(int) int64
	on  map[int]bool // works that stand on another
	out []planned
}

func (p *planner) pieces() []planned {
	p.on = map[int]bool{}
	for i := range p.run.Works {
		if !p.on[i] {
			p.piece(i)
		}
	}
	p.twins()
	p.names()
	return p.out
}

// piece plans a work, in as many pieces as it is drawn in.
func (p *planner) piece(work int) {
	x := &p.run.Works[work]
	steps := p.steps(work, 0)
	count, row := x.Count, x.Row
	for len(steps) > 0 {
		pl, used := p.stretch(steps, count.At(p.v))
		pl.count, pl.row, pl.inner = count, row, p.innerOf(x)
		if len(pl.steps) > 0 {
			p.layouts(pl, steps[used-1].Mark)
			o := Outline{Mark: pl.steps[0].Mark, Times: x.Times, Round: pl.round}
			o.Name, o.Notes = p.headings(pl), p.notes(pl)
			p.out = append(p.out, planned{o, pl, work})
		}
		sides := int64(1)
		for _, s := range steps[:used] {
			switch s.Kind {
			case dsl.Parts:
				count, sides = count.Plus(s.By, 1), 2
			case dsl.Meets:
				sides = 1
			case dsl.Leaves, dsl.Wedge:
			default:
				count = count.Plus(s.By, sides)
			}
		}
		steps = steps[used:]
		if len(steps) > 0 {
			row = steps[0].At
		}
	}
}

// layouts finds the layouts that a stretch of work is stated to have; its last step stands at a mark.
func (p *planner) layouts(pl *trunk, last int) {
	for i := range p.run.Layouts {
		l := &p.run.Layouts[i]
		if l.Mark < pl.steps[0].Mark || l.Mark > last+1 {
			continue
		}
		row := pl.row
		for _, s := range pl.steps {
			if p.passes(s) && s.Mark < l.Mark {
				row = s.At.Plus(s.Rows, 1)
			}
		}
		pl.laid = append(pl.laid, laid{row, l.Parts})
	}
}

func (p *planner) steps(work, from int) []step {
	x := &p.run.Works[work]
	var out []step
	for i := from; i < len(x.Moves); i++ {
		out = append(out, step{&x.Moves[i], work, i})
	}
	return out
}

// innerOf is the edge at the front opening or the neck of a piece: towards the middle of whoever wears it.
func (p *planner) innerOf(x *dsl.Work) dsl.Edge {
	name := x.Name
	if h := p.d.File.Marks[x.Mark].Heading; h >= 0 {
		name += " " + p.d.File.Headings[h].Text
	}
	for _, w := range strings.Fields(strings.ToLower(name)) {
		if w == "right" {
			return dsl.RightEdge
		}
	}
	return dsl.LeftEdge
}

func (p *planner) passes(s step) bool {
	return (s.Kind == dsl.Goes || s.Kind == dsl.Stairs) && s.Rows.At(p.v) > 0
}

// stretch takes as many steps as are drawn together, from n stitches on: until the work goes from rows to rounds or back, until
// much of it is set aside, or until it is parted and its parts stand on top.
func (p *planner) stretch(steps []step, n int64) (pl *trunk, used int) {
	pl = &trunk{}
	begun, rows := false, int64(0)
	for i := 0; i < len(steps); {
		if s := steps[i]; p.passes(s) {
			// A single row that does not say what it is goes with what follows it.
			if s.Flat == pl.round && rows > 1 {
				return pl, i
			}
			pl.round, begun = !s.Flat, true
			rows += s.Rows.At(p.v)
			pl.steps = append(pl.steps, s)
			n += s.By.At(p.v)
			i++
			continue
		}
		// What happens between two rows happens at once.
		end := i
		for end < len(steps) && !p.passes(steps[end]) {
			end++
		}
		if begun {
			if used := p.parted(pl, steps, i, end, n); used > 0 {
				return pl, used
			}
			if end < len(steps) && p.splits(steps[i:end], n) {
				return pl, end
			}
		}
		for _, s := range steps[i:end] {
			switch s.Kind {
			case dsl.Goes, dsl.Stairs, dsl.Jumps, dsl.Holds:
				n += s.By.At(p.v)
				pl.steps = append(pl.steps, s)
			case dsl.Beside:
				n += s.By.At(p.v)
				pl.steps = append(pl.steps, s)
			case dsl.Wedge:
				pl.steps = append(pl.steps, s)
			}
		}
		i = end
	}
	return pl, len(steps)
}

// splits says whether a new piece begins: where the two sides of a gap meet again, or where a quarter of the work or more is set aside.
func (p *planner) splits(between []step, n int64) bool {
	var held int64
	for _, s := range between {
		if s.Kind == dsl.Meets {
			return true
		}
		if s.Kind == dsl.Holds {
			held -= s.By.At(p.v)
		}
	}
	return 4*held >= n && held > 0
}

// parted gives a plan its parts where a centre is bound off between steps[from:to], or where flat work is set aside and taken up
// again as it was. It says how many of the steps are drawn with that, 0 where it is not so.
func (p *planner) parted(pl *trunk, steps []step, from, to int, n int64) int {
	for i := from; i < to; i++ {
		if steps[i].Kind == dsl.Parts {
			return p.sides(pl, steps, i)
		}
	}
	if pl.round {
		return 0
	}
	var parts []part
	for i := to - 1; i >= from; i-- {
		s := steps[i]
		if s.Kind != dsl.Holds {
			continue
		}
		by := s.By.Times(-1)
		x := part{sts: &by}
		if c := p.child(s); c >= 0 && len(parts) < 4 {
			p.on[c] = true
			x.plan, _ = p.stretch(p.steps(c, 0), by.At(p.v))
		}
		parts = append(parts, x)
	}
	stands := false
	for _, x := range parts {
		stands = stands || x.plan != nil
	}
	if !stands {
		return 0
	}
	if to < len(steps) {
		// What stays in hand was worked last in the row: it lies at the left.
		rest := dsl.Lin{Const: n}
		for _, s := range steps[from:to] {
			if s.Kind == dsl.Holds {
				rest = rest.Add(s.By.At(p.v))
			}
		}
		q, _ := p.stretch(steps[to:], rest.At(p.v))
		parts = append([]part{{plan: q}}, parts...)
	}
	pl.parts = parts
	facing(pl)
	return len(steps)
}

// sides are the two parts beside a centre bound off by steps[at]. The one that stays in hand was worked last: it lies at the left.
func (p *planner) sides(pl *trunk, steps []step, at int) int {
	gap := steps[at].By.Times(-1)
	pl.gap = &gap
	rest, used := steps[at+1:], len(steps)
	right := rest
	mirror := true
	for i, s := range rest {
		if s.Kind == dsl.Meets {
			rest, right, used = rest[:i], rest[:i], at+1+i
			break
		}
		if s.Kind == dsl.Leaves {
			right, mirror = append([]step(nil), rest[:i]...), false
			if c := p.child(s); c >= 0 {
				p.on[c] = true
				right = append(right, p.steps(c, 0)...)
			}
			break
		}
	}
	const some = 1 << 20 // splitting off is for whole pieces, not for sides
	l, _ := p.stretch(rest, some)
	r, _ := p.stretch(right, some)
	r.mirror = mirror
	pl.parts = []part{{plan: l}, {plan: r}}
	facing(pl)
	return used
}

// facing says of the parts of a plan which edge is the inner one.
func facing(pl *trunk) {
	for i, x := range pl.parts {
		if x.plan == nil {
			continue
		}
		x.plan.inner = dsl.LeftEdge
		if i == 0 {
			x.plan.inner = dsl.RightEdge
		}
	}
}

// child is the work that was set aside by a step and is taken up again as it was, flat; -1 where there is none.
func (p *planner) child(s step) int {
	for i := range p.run.Works {
		x := &p.run.Works[i]
		if x.Begun != dsl.Resumed || x.From[0] != s.work || x.Held != s.index {
			continue
		}
		for k := range x.Moves {
			m := step{&x.Moves[k], i, k}
			if p.passes(m) {
				if m.Flat {
					return i
				}
				return -1
			}
			if m.Kind == dsl.Jumps {
				return -1
			}
		}
	}
	return -1
}

// twins takes out what is worked as another piece is: it is told with that one.
func (p *planner) twins() {
	var keep []planned
	for _, x := range p.out {
		w := &p.run.Works[x.work]
		as := -1
		for i := range keep {
			if w.Twin >= 0 && sameSteps(keep[i].plan, x.plan) {
				as = i
			}
		}
		if as < 0 {
			keep = append(keep, x)
			continue
		}
		name := "the twin"
		if t, ok := p.d.File.Marks[w.Twin].Phrase.(*grammar.Twin); ok {
			name = t.Name.Text
		}
		keep[as].Also = append(keep[as].Also, name)
	}
	p.out = keep
}

func sameSteps(a, b *trunk) bool {
	if len(a.steps) != len(b.steps) || len(a.parts) != len(b.parts) {
		return false
	}
	for i := range a.steps {
		if a.steps[i].Mark != b.steps[i].Mark {
			return false
		}
	}
	return true
}

// notes are what the outline of a plan does not show.
func (p *planner) notes(pl *trunk) []string {
	var out []string
	say := func(s string) {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	for _, s := range pl.steps {
		switch {
		case s.Kind == dsl.Wedge && s.Edge == dsl.BothEdges:
			say("Its short rows, which make one edge longer than the other, are not shown.")
		case s.Kind == dsl.Wedge:
			say("The shaded wedge is its short rows: they make that edge longer, and are not among the rows and heights.")
		case s.Edge == dsl.InsideRow && s.Flat && s.By.At(p.v) != 0:
			say("What is shaped inside its rows is shown at its edges.")
		}
	}
	return out
}

// headings are the headings that the rows of a trunk stand under.
func (p *planner) headings(pl *trunk) string {
	var names []string
	for _, s := range pl.steps {
		if s.Kind != dsl.Goes && s.Kind != dsl.Stairs {
			continue
		}
		h := p.d.File.Marks[s.Mark].Heading
		if h < 0 {
			continue
		}
		name := strings.TrimRight(p.d.File.Headings[h].Text, ".: ")
		if k := len(names); k == 0 || names[k-1] != name {
			names = append(names, name)
		}
	}
	switch len(names) {
	case 0:
		return ""
	case 1:
		return names[0]
	case 2:
		return names[0] + " and " + names[1]
	}
	return names[0] + " to " + names[len(names)-1]
}

// names tells pieces apart that stand under the same heading: by what they were set aside as, else by number.
func (p *planner) names() {
	same := map[string][]int{}
	for i := range p.out {
		same[p.out[i].Name] = append(same[p.out[i].Name], i)
	}
	for name, all := range same {
		var plain []int
		for _, i := range all {
			held := p.run.Works[p.out[i].work].Name
			switch {
			case held == "" || len(all) == 1 && name != "":
				plain = append(plain, i)
			case name == "":
				p.out[i].Name = held
			default:
				p.out[i].Name = name + ", " + held
			}
		}
		for n, i := range plain {
			if name == "" {
				p.out[i].Name = "Piece"
			}
			if len(plain) > 1 {
				p.out[i].Name += " " + strconv.Itoa(n+1)
			}
		}
	}
}

// drawer turns a plan into a shape, at values and gauges. It draws one shape after another into the same memory.
type drawer struct {
	v       func(int) int64
	g       []clothGauge
	s       Shape // with corners that do not turn
	rows    []rowsOf
	changes []grows
	breaks  []int64
}

// clothGauge is a gauge, stitches and rows to a centimetre.
type clothGauge struct{ stitches, rows dsl.Fraction }

func clothGauges(g []dsl.Gauge) []clothGauge {
	out := make([]clothGauge, len(g))
	for i := range g {
		out[i] = clothGauge{dsl.FractionFrom(g[i].Stitches), dsl.FractionFrom(g[i].Rows)}
	}
	return out
}

// pen is where the drawing of a part stands.
type pen struct {
	row         int64
	y           dsl.Fraction
	left, right dsl.Fraction
	begun       bool // it has a width: not before the first row of a piece
	n           dsl.Fraction
	fabric      int
	panels      []dsl.PanelPart
}

// grows is what a step does to the count: by stitches along a line from a row to another, or at once where they are the same.
type grows struct {
	from, to int64
	by       dsl.Fraction
	edge     dsl.Edge
}

// rowsOf is a stretch of rows that pass.
type rowsOf struct {
	from, to int64
	s        step
}

var drawers = sync.Pool{New: func() any { return &drawer{} }}

func (d *drawer) shape(p *trunk, g []clothGauge, v func(int) int64) Shape {
	d.g, d.v = g, v
	d.s = Shape{Corners: d.s.Corners[:0], Bands: d.s.Bands[:0]}
	base := p.row.At(d.v)
	d.draw(p, pen{row: base, n: dsl.FractionOf(p.count.At(d.v)), fabric: -1}, base, 0)
	return Shape{Corners: slices.Clone(tidyCorners(d.s.Corners)), Lines: d.lines(p, base), Wedges: d.wedges(p, base), Bands: slices.Clone(d.s.Bands)}
}

// across is the trunk's height and edges after so many of its rows.
func (d *drawer) across(row int64) (y, left, right dsl.Fraction, ok bool) {
	for i := range d.s.Bands {
		b := &d.s.Bands[i]
		if b.Part != 0 || row < b.Row0 || row > b.Row1 {
			continue
		}
		at := dsl.FractionOf(row - b.Row0).Over(dsl.FractionOf(b.Row1 - b.Row0))
		between := func(a, b dsl.Fraction) dsl.Fraction { return a.Plus(b.Minus(a).Times(at)) }
		y, left, right, ok = between(b.Y0, b.Y1), between(b.Left0, b.Left1), between(b.Right0, b.Right1), true
		if row < b.Row1 {
			break
		}
	}
	return y, left, right, ok
}

// wedges are the short rows of a flat trunk.
func (d *drawer) wedges(p *trunk, base int64) []Wedge {
	var out []Wedge
	for _, s := range p.steps {
		if s.Kind != dsl.Wedge || s.Edge == dsl.BothEdges {
			continue
		}
		w := Wedge{Row: s.At.At(d.v) - base, Rows: s.Rows.At(d.v)}
		y, left, right, ok := d.across(w.Row)
		if !ok {
			continue
		}
		wide := dsl.FractionOf(s.By.At(d.v)).Over(d.g[s.Fabric].stitches).Neg()
		w.Y, w.Height = y, dsl.FractionOf(w.Rows).Over(d.g[s.Fabric].rows)
		w.Near, w.Turn, w.Far = left, left.Plus(wide), right
		if (s.Edge == dsl.RightEdge) != p.mirror {
			w.Near, w.Turn, w.Far = right, right.Minus(wide), left
		}
		out = append(out, w)
	}
	return out
}

// lines are where the parts of a layout meet. In the round the largest part lies in the middle, and what lies behind is not seen;
// flat, only a layout that is the same from either end says where its parts lie.
func (d *drawer) lines(p *trunk, base int64) []Line {
	var out []Line
	for i := 1; i < len(p.laid); i++ {
		a, b := &p.laid[i-1], &p.laid[i]
		if len(a.parts) != len(b.parts) || len(a.parts) < 2 {
			continue
		}
		y0, l0, r0, ok := d.across(a.row.At(d.v) - base)
		y1, l1, r1, also := d.across(b.row.At(d.v) - base)
		if !ok || !also || y0.Cmp(y1) >= 0 {
			continue
		}
		middle := d.largest(b.parts)
		from, to := d.joints(a.parts, middle, p.round), d.joints(b.parts, middle, p.round)
		for k := range min(len(from), len(to)) {
			if from[k] == nil || to[k] == nil {
				continue
			}
			out = append(out, Line{l0.Plus(r0.Minus(l0).Times(*from[k])), y0, l1.Plus(r1.Minus(l1).Times(*to[k])), y1})
		}
	}
	return out
}

func (d *drawer) largest(parts []int) int {
	at := 0
	for k, q := range parts {
		if d.v(q) > d.v(parts[at]) {
			at = k
		}
	}
	return at
}

// joints are where the parts of a layout meet, each as a share of the width from the left, nil for what is not seen.
func (d *drawer) joints(parts []int, middle int, round bool) []*dsl.Fraction {
	n := len(parts)
	var total int64
	for k, q := range parts {
		total += d.v(q)
		if !round && d.v(q) != d.v(parts[n-1-k]) {
			return nil
		}
	}
	if total <= 0 {
		return nil
	}
	out := make([]*dsl.Fraction, n)
	if !round {
		var sum int64
		for k, q := range parts[:n-1] {
			sum += d.v(q)
			x := dsl.FractionOf(sum).Over(dsl.FractionOf(total))
			out[k] = &x
		}
		return out
	}
	// Twice the stitches from the middle of the middle part, to either side; half of all are in view, a quarter at each side.
	for _, step := range []int{1, n - 1} {
		sum := d.v(parts[middle])
		for k := 0; k < n/2 && 2*sum <= total; k++ {
			x := dsl.FractionOf(sum).Over(dsl.FractionOf(total))
			if step == 1 {
				x = x.Neg()
			}
			x = x.Plus(halved(dsl.FractionOf(1)))
			joint := middle + k
			if step != 1 {
				joint = middle - 1 - k
			}
			out[(joint+n)%n] = &x
			sum += 2 * d.v(parts[(middle+(k+1)*step)%n])
		}
	}
	return out
}

// draw draws a plan from a pen on: up its left edge, along the parts that stand on it from the left, and down its right edge.
func (d *drawer) draw(p *trunk, at pen, base int64, number int) {
	d.moves(p)
	if len(d.rows) == 0 {
		return
	}
	d.breakpoints()
	first, k := len(d.s.Bands), 0
	for i := 0; i+1 < len(d.breaks); i++ {
		a, b := d.breaks[i], d.breaks[i+1]
		for k < len(d.rows)-1 && d.rows[k].to <= a {
			k++
		}
		band := d.band(p, &at, d.rows[k].s, a, b)
		if band.Stitches0 == 0 {
			break // the last of a stepped bind-off leaves no row above it
		}
		band.Row0, band.Row1, band.Part = a-base, b-base, number
		d.s.Bands = append(d.s.Bands, band)
		d.s.Corners = append(d.s.Corners, Corner{band.Left0, band.Y0, band.Stitches0, band.Row0}, Corner{band.Left1, band.Y1, band.Stitches1, band.Row1})
	}
	last := len(d.s.Bands)
	d.crown(p, at, base, number)
	for i := last - 1; i >= first; i-- {
		band := &d.s.Bands[i]
		d.s.Corners = append(d.s.Corners, Corner{band.Right1, band.Y1, band.Stitches1, band.Row1}, Corner{band.Right0, band.Y0, band.Stitches0, band.Row0})
	}
}

// crown draws what stands on top of a trunk.
func (d *drawer) crown(p *trunk, at pen, base int64, number int) {
	if len(p.parts) == 0 || at.n.Sign() <= 0 {
		return
	}
	wide := at.right.Minus(at.left)
	share := func(sts dsl.Fraction) dsl.Fraction { return wide.Times(sts).Over(at.n) }
	x, rest := at.left, at.n
	sizes := make([]dsl.Fraction, len(p.parts))
	if p.gap != nil {
		side := halved(at.n.Minus(dsl.FractionOf(p.gap.At(d.v))))
		sizes[0], sizes[1] = side, side
	} else {
		for i, q := range p.parts {
			if q.sts != nil {
				sizes[i] = dsl.FractionOf(q.sts.At(d.v))
				rest = rest.Minus(sizes[i])
			}
		}
		for i, q := range p.parts {
			if q.sts == nil {
				sizes[i] = rest
			}
		}
	}
	for i, q := range p.parts {
		to := x.Plus(share(sizes[i]))
		if q.plan != nil {
			from := at
			from.left, from.right, from.n = x, to, sizes[i]
			d.draw(q.plan, from, base, number*10+i+1)
		}
		x = to
		if p.gap != nil && i == 0 {
			x = x.Plus(share(dsl.FractionOf(p.gap.At(d.v))))
		}
	}
}

// moves finds the rows that pass in a plan, and what changes the count.
func (d *drawer) moves(p *trunk) {
	rows, changes := d.rows[:0], d.changes[:0]
	for _, s := range p.steps {
		at, by := s.At.At(d.v), dsl.FractionOf(s.By.At(d.v))
		n := s.Rows.At(d.v)
		edge := s.Edge
		switch edge {
		case dsl.InnerEdge:
			edge = p.inner
		case dsl.OuterEdge:
			edge = dsl.LeftEdge + dsl.RightEdge - p.inner
		case dsl.LeftEdge, dsl.RightEdge:
			if p.mirror {
				edge = dsl.LeftEdge + dsl.RightEdge - edge
			}
		}
		if s.Kind == dsl.Goes || s.Kind == dsl.Stairs {
			if n > 0 {
				rows = append(rows, rowsOf{at, at + n, s})
			}
		}
		switch {
		case s.Kind == dsl.Wedge:
		case s.Kind == dsl.Stairs:
			changes = d.stairs(changes, s, at, n, by, edge)
		case by.Sign() == 0:
		case s.Kind == dsl.Jumps || s.Kind == dsl.Holds:
			changes = append(changes, grows{at, at, by, edge})
		default:
			changes = append(changes, grows{at, at + n, by, edge})
		}
	}
	slices.SortStableFunc(rows, func(a, b rowsOf) int { return cmp.Compare(a.from, b.from) })
	d.rows, d.changes = rows, changes
}

// stairs adds the steps of a stepped bind-off, sizes one apart; both edges step at the same height, though they are a row apart.
func (d *drawer) stairs(out []grows, s step, at, rows int64, by dsl.Fraction, edge dsl.Edge) []grows {
	n := max(1, s.Steps.At(d.v))
	sides := int64(1)
	if edge == dsl.BothEdges || edge == dsl.InsideRow {
		sides = 2
	}
	every := max(1, (rows+n-1)/n)
	total := by.Neg().Over(dsl.FractionOf(sides))
	if !total.IsInt() {
		return append(out, grows{at, at, by, edge})
	}
	t, _ := total.Floor()
	q, more := t/n, t%n
	for i := int64(0); i < n; i++ {
		size := q
		if i < more && !s.Small || i >= n-more && s.Small {
			size++
		}
		out = append(out, grows{at + i*every, at + i*every, dsl.FractionOf(-size * sides), edge})
	}
	return out
}

// breakpoints finds the rows at which an edge may turn.
func (d *drawer) breakpoints() {
	lo, hi := d.rows[0].from, d.rows[len(d.rows)-1].to
	out := d.breaks[:0]
	for _, r := range d.rows {
		out = append(out, r.from, r.to)
	}
	for _, c := range d.changes {
		for _, x := range [...]int64{c.from, c.to} {
			if x > lo && x < hi {
				out = append(out, x)
			}
		}
	}
	slices.Sort(out)
	d.breaks = slices.Compact(out)
}

// band draws the rows [a, b), and takes the pen there.
func (d *drawer) band(p *trunk, at *pen, s step, a, b int64) Band {
	d.cloth(p, at, s)
	for _, c := range d.changes {
		if c.from == c.to && c.from == a {
			d.change(p, at, c.by, c.edge)
		}
	}
	out := Band{Y0: at.y, Left0: at.left, Right0: at.right, Stitches0: nearest(at.n), Fabric: s.Fabric, Mark: s.Mark, Stairs: s.Kind == dsl.Stairs}
	for _, c := range d.changes {
		lo, hi := max(a, c.from), min(b, c.to)
		if c.to > c.from && hi > lo {
			d.change(p, at, c.by.Times(dsl.FractionOf(hi-lo)).Over(dsl.FractionOf(c.to-c.from)), c.edge)
		}
	}
	at.y = at.y.Plus(dsl.FractionOf(b - a).Over(d.g[s.Fabric].rows))
	at.row = b
	out.Y1, out.Left1, out.Right1, out.Stitches1 = at.y, at.left, at.right, nearest(at.n)
	return out
}

// cloth takes the pen to the fabric of a step: the stitches in hand are then as wide as they are in it.
func (d *drawer) cloth(p *trunk, at *pen, s step) {
	if at.begun && at.fabric == s.Fabric && len(at.panels) == len(s.Panels) {
		return
	}
	at.fabric, at.panels = s.Fabric, s.Panels
	n := at.n
	var wide dsl.Fraction
	for _, x := range s.Panels {
		sts := dsl.FractionOf(x.Stitches)
		n = n.Minus(sts)
		wide = wide.Plus(sts.Over(d.g[x.Fabric].stitches))
	}
	wide = wide.Plus(n.Over(d.g[s.Fabric].stitches))
	if p.round {
		wide = halved(wide)
	}
	middle, wide := halved(at.left.Plus(at.right)), halved(wide)
	at.left, at.right, at.begun = middle.Minus(wide), middle.Plus(wide), true
}

// change takes stitches in or out at an edge.
func (d *drawer) change(p *trunk, at *pen, by dsl.Fraction, edge dsl.Edge) {
	at.n = at.n.Plus(by)
	x := by.Over(d.g[at.fabric].stitches)
	if p.round {
		x = halved(x)
	}
	switch edge {
	case dsl.LeftEdge:
		at.left = at.left.Minus(x)
	case dsl.RightEdge:
		at.right = at.right.Plus(x)
	default:
		x = halved(x)
		at.left, at.right = at.left.Minus(x), at.right.Plus(x)
	}
}

// tidyCorners leaves out corners that stand on another or on a straight edge. It changes the path it is given.
func tidyCorners(path []Corner) []Corner {
	out := path[:0]
	for _, c := range path {
		if k := len(out); k > 0 && out[k-1].X.Cmp(c.X) == 0 && out[k-1].Y.Cmp(c.Y) == 0 {
			out[k-1].Stitches = c.Stitches
			continue
		}
		out = append(out, c)
		for k := len(out); k > 2 && straightOn(out[k-3], out[k-2], out[k-1]); k = len(out) {
			out = append(out[:k-2], out[k-1])
		}
	}
	for k := len(out); k > 3 && straightOn(out[k-2], out[k-1], out[0]); k = len(out) {
		out = out[:k-1]
	}
	if k := len(out); k > 1 && out[0].X.Cmp(out[k-1].X) == 0 && out[0].Y.Cmp(out[k-1].Y) == 0 {
		out = out[:k-1]
	}
	return out
}

// straightOn says whether b lies on the way from a to c.
func straightOn(a, b, c Corner) bool {
	// Nearly always the quarters that the two ways point to tell.
	ux, uy := b.X.Cmp(a.X), b.Y.Cmp(a.Y)
	wx, wy := c.X.Cmp(b.X), c.Y.Cmp(b.Y)
	if ux != wx || uy != wy || ux == 0 && uy == 0 {
		return false
	}
	return ux == 0 || uy == 0 || b.X.Minus(a.X).Times(c.Y.Minus(b.Y)).Cmp(b.Y.Minus(a.Y).Times(c.X.Minus(b.X))) == 0
}

func halved(x dsl.Fraction) dsl.Fraction { return x.Over(dsl.FractionOf(2)) }

func nearest(x dsl.Fraction) int64 {
	n, _ := x.RoundTo(dsl.FractionOf(1)).Floor()
	return n
}
