package dsl

import (
	"math/big"

	"gaugewright/grammar"
)

// Run is one size of the draft worked row by row: what its numbers have to do with one another. Nothing in it depends
// on a gauge: heights are kept in rows, fabric by fabric.
type Run struct {
	Size      int
	Relations []Relation
	Lengths   []LengthRule
	Matches   []LengthRule // of a length of nothing: as high as another piece, knitted at a gauge of its own
	Scores    []Score
	Schedules []*Schedule
	Steps     []*Steps
	Layouts   []Laid
	Late      []Late
	Pickups   []Pickup
	Strips    []Strip
	Works     []Work
	Again     []Again
	Stages    []Stage
	Heights   []Stated
	Slopes    []Slope
	Joins     []Meeting
	Tops      []Top
}

// Again is what a twin works a second time, left and right exchanged: the marked instructions [From, To).
type Again struct{ Twin, From, To int }

// RelationKind is how a relation binds its form.
type RelationKind int

const (
	Zero     RelationKind = iota // Expr = 0
	AtLeast                      // Expr ≥ 0
	Multiple                     // Expr is a multiple of Mod
	Costly                       // Expr ≥ 0, or as much is lost as by being 1 cm off
)

// Relation is something that must hold between whole numbers.
type Relation struct {
	Kind RelationKind
	Expr Lin
	Mod  int64
	Mark int
	Why  string // said when it takes part in a contradiction, and by explain
	Soft string // what is said where a Costly relation was given up
	// Seam is set where pieces meet: two numbers drafted equal stay so as long as nothing that the draft says forbids it.
	Seam *Seam
}

// LengthRule says that the rows R bring a height to within half a step of a length, halves upwards.
type LengthRule struct {
	Mark   int
	Rows   int    // quantity
	Length int    // quantity of the stated length, -1 where another piece is matched
	Before Height // what was worked since the place it is measured from
	From   int    // the mark of that place; the instruction's own where the length is not measured from a place
	Fabric int
	Step   int64 // 1, or 2 in flat work
}

// Score is a size in centimetres that a conversion keeps as near as it can to the one wished for.
type Score struct {
	Expr   Lin
	Rows   bool // Expr counts rows, not stitches
	Fabric int
	Panels []PanelPart // stitches of Expr that lie in another fabric
	Tie    int         // quantity whose tie says what is wished; -1: as drafted
	Mark   int
	Count  bool // it is the count of stitches in hand after Mark
}

// Meeting is what is put together in one row.
type Meeting struct {
	Mark  int
	Parts []Lin
}

// Slope is a shoulder's: stitches bound off in steps at both edges of a piece.
type Slope struct {
	Mark int
	T, S int // quantities: stitches and steps at one edge
}

// Top is the end of one side of a piece that was parted: what it had when its last stitches began to be bound off, in how
// many steps.
type Top struct {
	Mark  int
	Count Lin
	Steps Lin
}

// PanelPart is a panel's share of a count.
type PanelPart struct {
	Fabric   int
	Stitches int64
}

// Schedule is shaping spread over rows, as segments that are each one straight edge.
type Schedule struct {
	Mark     int
	Clauses  []*grammar.Clause
	Segments []*Segment
}

// Segment is one straight edge of a schedule: N times over R rows.
type Segment struct {
	Clauses []int // indices of the schedule's clauses it is written in
	N, R    int   // quantities; R < 0 where the interval stays and rows are Interval·N
	Const   bool  // nothing in it can change
	Next    bool  // shapes on the first row: N−1 intervals over R−1 rows
	Step    int64
	// Interval is the drafted one, where it stays.
	Interval int64
	// Edge is the stitches a time at one edge.
	Edge int64
}

// Steps is a stepped bind-off or a set of short rows: T stitches in S steps.
type Steps struct {
	Mark     int
	Whole    bool // all clauses are one edge, in every size
	Segments []*StepSegment
}

// StepSegment is one edge of a stepped bind-off.
type StepSegment struct {
	Clauses       []int
	T, S          int  // quantities
	FirstNow      bool // one-edged and beginning on the next row: 2S−1 rows
	SmallestFirst bool
}

// Laid is a layout whose parts are shared out of a count, unless what follows binds them: see bindLayouts.
type Laid struct {
	Mark  int
	Total Lin
	Parts []int   // quantities
	Prev  int     // index of the layout before it in the same work, -1
	Since []Grown // shaping between that one and this
	Grown []Grown // shaping since the last layout of any kind, or since the work was begun
	Held  []int   // quantities held out of the work before anything else changes its count
	Bound bool    // its parts are unknowns of their own
	Join  int     // index in Joins of what was put together right before it, -1
}

// Grown is shaping so many stitches a time, so many times.
type Grown struct {
	mark  int
	Times Lin
	Per   int64
}

// Late is a number that is only known once everything else is: a count in the middle of shaping that runs meanwhile.
type Late struct {
	Quantity int
	Base     Lin // without the unfinished shaping
	Running  []Partial
}

// Partial is shaping under way: how far a schedule has come after so many rows.
type Partial struct {
	Schedule *Schedule
	Elapsed  Lin
	PerTime  int64 // stitches a time, signed
}

// Strip is a stretch of cloth: rows of one fabric from one count to another; for areas and outlines.
type Strip struct {
	Mark     int
	Fabric   int
	Rows     Lin
	From, To Lin
	Sides    int64 // 2 where two sides are worked at once
	Work     int   // index in Works
	Panels   []PanelPart
}

// Stage is what is in hand after an instruction.
type Stage struct {
	Mark  int
	Piece string
	Count Lin
	Side  int64 // sides in hand
	Rows  Lin   // rows this instruction passes
	Upto  Height
	Flat  bool
	// Running is shaping that goes on meanwhile, of which Count has nothing yet.
	Running []Partial
}

// Stated is a length in the text that says how high the work is.
type Stated struct {
	Quantity int
	Height   Height
}

// Cm is the width or height of a score's form at values v and gauges g, exact.
func (s *Score) Cm(v func(int) int64, g []Gauge) *big.Rat { return s.Size(v, g).Rat() }

// Size is the same as a Fraction.
func (s *Score) Size(v func(int) int64, g []Gauge) Fraction {
	n := s.Expr.At(v)
	per := g[s.Fabric].Stitches
	if s.Rows {
		per = g[s.Fabric].Rows
	}
	var x Fraction
	for _, p := range s.Panels {
		n -= p.Stitches
		x = x.Plus(FractionOf(p.Stitches).Over(FractionFrom(g[p.Fabric].Stitches)))
	}
	return FractionOf(n).Over(FractionFrom(per)).Plus(x)
}

// Cm is a height at values v and gauges g, exact.
func (h Height) Cm(v func(int) int64, g []Gauge) *big.Rat { return h.Size(v, g).Rat() }

// Size is the same as a Fraction.
func (h Height) Size(v func(int) int64, g []Gauge) Fraction {
	var x Fraction
	for _, r := range h {
		x = x.Plus(FractionOf(r.Rows.At(v)).Over(FractionFrom(g[r.Fabric].Rows)))
	}
	return x
}

// Area is the square centimetres of all the cloth of a run at values v and gauges g, exact: each piece as often as it is made.
// A panel is as wide as its own fabric is, over the rows of the fabric around it.
func (r *Run) Area(v func(int) int64, g []Gauge) *big.Rat {
	sum := new(big.Rat)
	for _, x := range r.Areas(v, g) {
		sum.Add(sum, x)
	}
	return sum
}

// Areas is the same, fabric by fabric.
func (r *Run) Areas(v func(int) int64, g []Gauge) []*big.Rat {
	out := make([]*big.Rat, len(g))
	for across, row := range r.loops(v, len(g)) {
		var area Fraction
		for up, twice := range row {
			if twice != 0 {
				area = area.Plus(FractionOf(twice).Over(FractionFrom(g[across].Stitches)).Over(FractionFrom(g[up].Rows)))
			}
		}
		out[across] = area.Over(FractionOf(2)).Rat()
	}
	return out
}

// loops is stitches times rows, doubled, by the fabric that says how wide they are and the one that says how tall.
func (r *Run) loops(v func(int) int64, fabrics int) [][]int64 {
	twice := make([][]int64, fabrics)
	for i := range twice {
		twice[i] = make([]int64, fabrics)
	}
	for i := range r.Strips {
		s := &r.Strips[i]
		rows := s.Rows.At(v) * max(1, s.Sides) * r.Works[s.Work].Times
		n := s.From.At(v) + s.To.At(v)
		for _, p := range s.Panels {
			twice[p.Fabric][s.Fabric] += 2 * p.Stitches * rows
			n -= 2 * p.Stitches
		}
		twice[s.Fabric][s.Fabric] += n * rows
	}
	return twice
}

// Spread is how n times go over d rows in m gaps of whole steps: `quick` times every `every` rows and `slow` times every
// every+step rows. more is the times that need a second stitch because there are fewer rows than times.
//
// With m intervals over D rows: q, r = divmod(D / step, m), m − r times every q·step rows and r times every (q + 1)·step;
// where D < step·m the same with a step of 1. It always exists and is unique.
func Spread(m, d, step int64) (every, quick, slow, by int64) {
	if m <= 0 {
		return 0, 0, 0, step
	}
	if d < step*m || d%step != 0 {
		step = 1
	}
	q, r := (d/step)/m, (d/step)%m
	return q * step, m - r, r, step
}

// Done is how many times a schedule has shaped after so many of its rows at values v.
func (s *Schedule) Done(rows int64, v func(int) int64, quickFirst bool) int64 {
	var times, at int64
	for _, g := range s.Segments {
		n, r := v(g.N), g.RowsAt(v)
		m, d, first := n, r, int64(0)
		if g.Next {
			m, d, first = n-1, r-1, 1
			if rows >= at+1 {
				times++
			}
		}
		every, quick, slow, by := Spread(m, d, g.Step)
		order := [2][2]int64{{every, quick}, {every + by, slow}}
		if !quickFirst {
			order[0], order[1] = order[1], order[0]
		}
		t := at + first
		for _, o := range order {
			for k := int64(0); k < o[1]; k++ {
				t += o[0]
				if t > rows {
					return times
				}
				times++
			}
		}
		at += r
	}
	return times
}

// RowsAt is the rows of a segment at values v.
func (g *Segment) RowsAt(v func(int) int64) int64 {
	if g.R >= 0 {
		return v(g.R)
	}
	n := v(g.N)
	if g.Next {
		return 1 + g.Interval*(n-1)
	}
	return g.Interval * n
}

// RowsLin is the rows of a segment as a form.
func (g *Segment) RowsLin() Lin {
	if g.R >= 0 {
		return of(g.R)
	}
	n := of(g.N)
	if g.Next {
		return n.Add(-1).Times(g.Interval).Add(1)
	}
	return n.Times(g.Interval)
}

// Pickup is stitches picked up along rows, so many for every so many: the one place where rows become stitches.
type Pickup struct {
	Mark         int
	Count        int // quantity
	Rows         Lin
	Fabric       int
	Sts, PerRows *grammar.Value
	Free         bool // the rows are not known: the count stated after it decides
}
