package dsl

import (
	"strings"

	"gaugewright/grammar"
)

// Work is a stretch of work from where it is taken up until none of it is in hand: what its outline is drawn from.
// Rows are counted from the cast-on or the pick-up of the piece it belongs to, over all its fabrics.
type Work struct {
	Mark  int    // the instruction that takes it up
	Begun Begun  // how
	Name  string // what it was set aside as, "" where it was not
	From  []int  // indices of the works it was set aside from or joined of
	Held  int    // of work taken up again, the move of From[0] that set it aside
	Count Lin    // stitches it begins with
	Row   Lin    // the row it begins on
	Times int64  // how often the draft has it made: 2 after `make 2`
	Twin  int    // the mark of the instruction that has it worked as another, -1
	Moves []Move // in the order of the draft
}

// Begun is how work is taken up.
type Begun int

const (
	CastOn Begun = iota
	PickedUp
	Resumed
	Joined
)

// Move is what one instruction does to the shape of the work in hand.
type Move struct {
	Kind   MoveKind
	Mark   int
	At     Lin // the row it begins on
	Rows   Lin // rows it takes
	By     Lin // stitches it adds, below zero where it takes them away; a side where two sides are worked at once
	Edge   Edge
	Fabric int
	Flat   bool
	Panels []PanelPart
	Steps  Lin // of stairs, how many at one edge
	Small  bool
	Name   string // of work set aside
}

// MoveKind is what a move does.
type MoveKind int

const (
	Goes   MoveKind = iota // Rows rows pass, over which the count changes By along a line
	Stairs                 // Rows rows pass, in which By stitches go in Steps steps; the smaller first where Small is set
	Beside                 // the count changes By along a line over Rows rows that other moves pass
	Jumps                  // the count changes at once
	Holds                  // stitches are set aside
	Parts                  // a centre is bound off, and two sides are in hand
	Leaves                 // one of the two sides is set aside
	Meets                  // the two sides are one again
	Wedge                  // short rows: By stitches are left in Steps turns, at one edge
)

// Edge is where along a row its count changes, as the right side of the cloth is looked at with its beginning below.
type Edge int

const (
	BothEdges Edge = iota // alike at both, or spread over the row
	InsideRow             // at places inside the row
	LeftEdge
	RightEdge
	InnerEdge // the one at the neck or the front opening
	OuterEdge // the one at the armhole or the side
)

// trace opens a new work for the hand in hand.
func (w *walker) trace(begun Begun, name string, from ...int) {
	h := w.now
	x := Work{Mark: w.mark, Begun: begun, Name: name, From: from, Held: h.held, Count: h.count, Row: h.height.rows(), Times: 1, Twin: w.twin}
	h.work = len(w.run.Works)
	w.run.Works = append(w.run.Works, x)
}

// move notes what happens to the work in hand on its next row. The result may be added to until the next call.
func (w *walker) move(kind MoveKind, rows, by Lin) *Move {
	h := w.now
	x := &w.run.Works[h.work]
	x.Moves = append(x.Moves, Move{Kind: kind, Mark: w.mark, At: h.height.rows().Plus(h.ahead, 1), Rows: rows, By: by, Fabric: w.fabricOf(w.m()), Flat: w.flat(), Panels: h.panels})
	return &x.Moves[len(x.Moves)-1]
}

// closesGap reports whether stitches that come into the row take the place of as many, in every size, that were bound off or set
// aside last: a buttonhole, the opening of a pocket. The two stay equal, and the edges of the piece do not move.
func (w *walker) closesGap(by Lin) bool {
	moves := w.run.Works[w.now.work].Moves
	i := len(moves) - 1
	for i >= 0 && moves[i].By.Same(Lin{}) {
		i--
	}
	if i < 0 || w.now.sides != 1 || moves[i].Kind != Stairs && moves[i].Kind != Holds {
		return false
	}
	gap := &moves[i]
	lost := by.Plus(gap.By, 1)
	for size := range w.d.Sizes {
		if lost.At(func(q int) int64 { return w.d.Quantities[q].Drafted[size] }) != 0 {
			return false
		}
	}
	w.relate(Zero, lost, 0, "what fills a gap stays equal to it")
	gap.By = Lin{}
	if gap.Kind == Stairs {
		gap.Kind = Goes
	}
	return true
}

// edgeOf is the edge that shaping stands at: every is the rows from one time to the next (0: once), first the rows before the
// first of them.
func (w *walker) edgeOf(where grammar.Where, every, first int64) Edge {
	if w.now == nil || !w.flat() {
		return BothEdges
	}
	switch where.Ends {
	case grammar.NamedEdge:
		for _, inner := range []string{"neck", "front", "cent", "inner", "opening"} {
			if strings.Contains(where.Edge, inner) {
				return InnerEdge
			}
		}
		return OuterEdge
	case grammar.Beginning, grammar.End:
		if every%2 == 1 {
			return BothEdges // in turn
		}
		return w.endOfRow(first, where.Ends == grammar.End)
	}
	if where.Ends == grammar.EachEnd {
		return BothEdges
	}
	return InsideRow
}

// endOfRow is the edge at the beginning or the end of the row that comes after so many more. A right-side row is worked from the
// right to the left; in a twin the two ends are exchanged.
func (w *walker) endOfRow(after int64, end bool) Edge {
	wrong := ((w.now.pos+after)%2 == 1) != w.now.firstWS
	if (wrong != end) != (w.twin >= 0) {
		return LeftEdge
	}
	return RightEdge
}

// edgeOfClauses is the edge of a schedule.
func (w *walker) edgeOfClauses(where grammar.Where, cs []*grammar.Clause, s *Schedule) Edge {
	if len(cs) == 0 || len(s.Segments) == 0 {
		return BothEdges
	}
	every, first := int64(0), int64(0)
	if len(cs) > 1 || cs[0].Kind != grammar.OneRow {
		g := s.Segments[0]
		every = w.d.Interval(cs[g.Clauses[0]], w.size)
		if !g.Next {
			first = every - 1
		}
	}
	return w.edgeOf(where, every, first)
}

// made notes `make 2`: the pieces that are begun under its heading are made so often, and what becomes of them.
func (w *walker) made() {
	for i := range w.run.Works {
		x := &w.run.Works[i]
		for k, from := range x.From {
			// What is joined is made as often as the part that is made least: one body, two sleeves.
			if n := w.run.Works[from].Times; k == 0 || n < x.Times {
				x.Times = n
			}
		}
		heading := w.d.File.Marks[x.Mark].Heading
		if x.Begun == Resumed || x.Begun == Joined {
			continue
		}
		for _, m := range w.d.File.Marks {
			if p, ok := m.Phrase.(*grammar.Make); ok && m.Heading == heading && p.Count != nil {
				x.Times = max(x.Times, numAt(p.Count, w.size).Val.Num().Int64())
			}
		}
	}
}
