package dsl

import (
	"fmt"
	"sort"

	"gaugewright/grammar"
)

// Pieces that are sewn to one another are drafted with the same numbers where they meet: the stitches of the underarm, the
// shaping of the armhole, the rows of a side or of a raglan line. Each piece would come to whole numbers of its own, so what is
// drafted equal in every size, at the same place and of the same kind, is kept equal. Where the draft ties such numbers to
// different things, or fixes one of them, it has said otherwise.

// Seam is what two numbers that are kept equal are to the garment, and where the other one stands.
type Seam struct {
	What   string
	Mark   int  // of the other
	Said   bool // the draft ties them itself
	It, To Lin  // what the relation's own instruction gives, and what the other does
}

// border is one side edge of a piece that was cast on, as one size works it.
type border struct {
	mark        int // that begins the piece
	notch       Lin // stitches bound off at one edge before any other shaping to a smaller count
	notchMark   int // -1 without one
	curve       []bend
	below       Height // from the cast-on to the notch
	above       Height // from the notch to the shoulder, or to the end
	belowLength *int   // the length that decides it, nil where none does
	aboveLength *int
}

// bend is one stretch of the shaping right after the notch.
type bend struct {
	mark        int
	width, rows Lin
}

// seams looks for what is sewn to what. live is, of each run, the quantities that its sizes hang on.
type seams struct {
	*Draft
	live []map[int]bool
}

func (d *Draft) bindSewn() {
	if len(d.Runs) == 0 {
		return
	}
	w := seams{d, make([]map[int]bool, len(d.Runs))}
	for s, r := range d.Runs {
		w.live[s] = map[int]bool{}
		for i := range r.Scores {
			for _, t := range r.Scores[i].Expr.Terms {
				w.live[s][t.Quantity] = true
			}
		}
		for i := range r.Lengths {
			w.live[s][r.Lengths[i].Rows] = true
		}
	}
	w.bindOpenings()
	w.bindBorders()
	w.bindJoined()
}

func (d seams) bindBorders() {
	borders := make([][]border, len(d.Runs))
	for s, r := range d.Runs {
		borders[s] = d.borders(r)
		if len(borders[s]) != len(borders[0]) {
			return // sizes are not worked alike
		}
	}
	for k := range borders[0] {
		found := map[string]bool{}
		for i := range k {
			d.sew(borders, i, k, found)
		}
	}
}

// bindJoined keeps parts equal that were drafted equal and are joined in one row, as the back and the front of a body are.
func (d seams) bindJoined() {
	for i, j := range d.Runs[0].Joins {
		for k := range j.Parts {
			for o := range k {
				var x, y []Lin
				for _, r := range d.Runs {
					if i < len(r.Joins) && r.Joins[i].Mark == j.Mark && len(r.Joins[i].Parts) == len(j.Parts) {
						x, y = append(x, r.Joins[i].Parts[o]), append(y, r.Joins[i].Parts[k])
					}
				}
				if len(x) == len(d.Runs) && d.keepEqual(x, y, j.Mark, j.Mark, "what is joined") {
					break
				}
			}
		}
	}
}

// sew keeps the borders i and k equal where they were drafted so, and where no border before i was found to be so: one is enough.
func (d seams) sew(all [][]border, i, k int, found map[string]bool) {
	a, b := all[0][i], all[0][k]
	for _, x := range all {
		if x[i].mark != a.mark || x[k].mark != b.mark || x[i].notchMark != a.notchMark || x[k].notchMark != b.notchMark || len(x[i].curve) != len(a.curve) || len(x[k].curve) != len(b.curve) {
			return
		}
	}
	if a.notchMark < 0 || b.notchMark < 0 || d.parted(a.mark, b.mark) {
		return
	}
	form := func(of func(border) Lin) (x, y []Lin) {
		for _, s := range all {
			x, y = append(x, of(s[i])), append(y, of(s[k]))
		}
		return x, y
	}
	x, y := form(func(e border) Lin { return e.notch })
	if !d.drafted(x, y) {
		if !found["notch"] {
			d.almost(x, y, a.notchMark, b.notchMark, "the bind-off at the underarm")
		}
		return
	}
	if !found["notch"] {
		d.keepEqual(x, y, a.notchMark, b.notchMark, "the bind-off at the underarm")
	}
	found["notch"] = true
	if n := len(a.curve); n == len(b.curve) && !found["curve"] {
		alike := n > 0
		for j := range n {
			for _, of := range []func(border) Lin{func(e border) Lin { return e.curve[j].width }, func(e border) Lin { return e.curve[j].rows }} {
				x, y := form(of)
				alike = alike && d.drafted(x, y)
			}
		}
		found["curve"] = alike
		for j := 0; alike && j < n; j++ {
			for _, of := range []func(border) Lin{func(e border) Lin { return e.curve[j].width }, func(e border) Lin { return e.curve[j].rows }} {
				x, y := form(of)
				d.keepEqual(x, y, a.curve[j].mark, b.curve[j].mark, "the shaping of the armhole")
			}
		}
	}
	d.sewHeights(all, i, k, func(e border) (Height, *int) { return e.below, e.belowLength }, "the rows to the underarm", found)
	d.sewHeights(all, i, k, func(e border) (Height, *int) { return e.above, e.aboveLength }, "the rows above the underarm", found)
}

// sewHeights keeps heights equal, fabric by fabric, unless they are decided by lengths that may part company.
func (d seams) sewHeights(all [][]border, i, k int, of func(border) (Height, *int), what string, found map[string]bool) {
	h, l := of(all[0][i])
	g, m := of(all[0][k])
	if found[what] || len(h) == 0 || len(h) != len(g) || l != nil && m != nil && d.tieText(*l) != d.tieText(*m) {
		return
	}
	for f := range h {
		var x, y []Lin
		for _, s := range all {
			a, _ := of(s[i])
			b, _ := of(s[k])
			if len(a) != len(h) || len(b) != len(g) || a[f].Fabric != b[f].Fabric {
				return
			}
			x, y = append(x, a[f].Rows), append(y, b[f].Rows)
		}
		if !d.drafted(x, y) {
			return
		}
	}
	found[what] = true
	for f := range h {
		var x, y []Lin
		for _, s := range all {
			a, _ := of(s[i])
			b, _ := of(s[k])
			x, y = append(x, a[f].Rows), append(y, b[f].Rows)
		}
		d.keepEqual(x, y, all[0][i].notchMark, all[0][k].notchMark, what)
	}
}

// drafted says whether two forms, one of each for every size, were drafted equal, and not to nothing in all of them.
func (d seams) drafted(x, y []Lin) bool {
	some := false
	for s := range d.Runs {
		n := d.at(s, x[s])
		if n < 0 || n != d.at(s, y[s]) {
			return false
		}
		some = some || n > 0
	}
	return some
}

// almost warns where two numbers of pieces that meet are drafted equal in most sizes and not in the rest: that is a slip more often
// than it is meant.
func (d *Draft) almost(x, y []Lin, here, there int, what string) {
	var apart []string
	var sizes []int
	for s, r := range d.Runs {
		v := func(q int) int64 { return d.Quantities[q].Drafted[r.Size] }
		if a, b := x[s].At(v), y[s].At(v); a != b {
			apart = append(apart, fmt.Sprintf("%d and %d", a, b))
			sizes = append(sizes, r.Size)
		}
	}
	if n := len(apart); n == 0 || 2*n >= len(d.Runs) {
		return
	}
	d.say(grammar.Warning, d.File.Marks[there].PhraseSpan, what+" is the same in two pieces that meet, but not"+d.sizeNames(sizes)+": "+andList(apart),
		"mend one of them, or leave them if one is to be eased to the other", grammar.Related{Span: d.File.Marks[here].PhraseSpan, Text: "the other is here"})
}

// at is what a form is in a run as drafted.
func (d seams) at(run int, l Lin) int64 {
	return l.At(func(q int) int64 { return d.Quantities[q].Drafted[d.Runs[run].Size] })
}

// keepEqual relates two forms, one of each for every size, that are drafted equal, and says whether they are.
func (d seams) keepEqual(x, y []Lin, here, there int, what string) bool {
	if !d.drafted(x, y) {
		return false
	}
	a, b := d.single(x[0]), d.single(y[0])
	said := false
	if a != nil && b != nil {
		s, t := d.tieText(a.ID), d.tieText(b.ID)
		if a.Fixed != b.Fixed || s != "" && t != "" && s != t && grammar.Key(s) != grammar.Key(b.Name) && grammar.Key(t) != grammar.Key(a.Name) {
			return true // the draft says otherwise
		}
		said = s != "" && (s == t || grammar.Key(s) == grammar.Key(b.Name)) || t != "" && grammar.Key(t) == grammar.Key(a.Name)
	}
	for s, r := range d.Runs {
		e := y[s].Plus(x[s], -1)
		if e.IsConst() || d.at(s, x[s]) == 0 || !d.hangs(s, e) {
			continue // one and the same, or nothing that is decided
		}
		r.Relations = append(r.Relations, Relation{Kind: Zero, Expr: e, Mark: there, Why: what + ", drafted equal in pieces that meet, stays equal",
			Seam: &Seam{What: what, Mark: here, Said: said, It: y[s], To: x[s]}})
	}
	return true
}

// single is the quantity that a form is, nil where it is more than one.
func (d *Draft) single(l Lin) *Quantity {
	if len(l.Terms) == 1 && l.Const == 0 {
		return d.Quantities[l.Terms[0].Quantity]
	}
	return nil
}

// tieText is what a number is tied to, as written.
func (d *Draft) tieText(q int) string {
	if d.Quantities[q].Tie == nil {
		return ""
	}
	return d.File.Text(d.Quantities[q].TieAt)
}

// borders are the side edges of the pieces of a run that are cast on and worked flat, in their order. The second of a pair
// has its numbers from the first.
func (d *Draft) borders(r *Run) []border {
	lengths := map[int]int{}
	for _, l := range r.Lengths {
		lengths[l.Mark] = l.Length
	}
	var out []border
	for i := range r.Works {
		if x := &r.Works[i]; x.Begun == CastOn && x.Twin < 0 {
			out = append(out, borderOf(x, lengths))
		}
	}
	return out
}

// borderOf follows the moves of a piece.
func borderOf(x *Work, lengths map[int]int) border {
	e := border{mark: x.Mark, notchMark: -1}
	curving := false
	for j := range x.Moves {
		m := &x.Moves[j]
		if !m.Flat {
			return e
		}
		edges := int64(1)
		switch m.Edge {
		case BothEdges:
			edges = 2
		case InsideRow, InnerEdge:
			edges = 0
		}
		length, has := lengths[m.Mark]
		switch {
		case m.Kind == Stairs && edges > 0 && e.notchMark < 0:
			if !m.Steps.IsConst() || m.Steps.Const != 1 {
				return border{mark: x.Mark, notchMark: -1} // stepped at once: a shoulder
			}
			e.notchMark, e.notch, curving = m.Mark, m.By.share(-edges), true
			e.above = e.above.plus(m.Fabric, m.Rows)
			continue
		case e.notchMark < 0 && m.Kind != Beside:
			if m.Kind == Parts {
				return e
			}
			e.below = e.below.plus(m.Fabric, m.Rows)
			if has {
				e.belowLength = &length
			}
			continue
		case m.Kind == Stairs && edges > 0:
			return e // the shoulder
		}
		if curving && edges > 0 && (m.Kind == Goes || m.Kind == Beside) && !m.By.IsConst() {
			e.curve = append(e.curve, bend{m.Mark, m.By.share(-edges), m.Rows})
		} else if m.Kind == Goes && has {
			curving = false
		}
		if m.Kind != Beside {
			e.above = e.above.plus(m.Fabric, m.Rows)
			if has {
				e.aboveLength = &length
			}
		}
	}
	return e
}

// bindOpenings keeps the beginnings of pieces equal that begin with the same instructions, as a back and a front do: as far as
// they go together, each number is the same.
func (d seams) bindOpenings() {
	begins := d.openings()
	for i := range begins {
		for k := range begins[:i] {
			if d.bindOpening(begins[k], begins[i]) {
				break
			}
		}
	}
}

// openings are, for each piece that is cast on, the instructions that do something to it, in their order, up to the one that
// begins other work.
func (d seams) openings() [][]int {
	begun := map[int]Begun{}
	for _, x := range d.Runs[0].Works {
		if x.Twin < 0 {
			begun[x.Mark] = x.Begun
		}
	}
	empty := map[int]bool{}
	for _, s := range d.Runs[0].Stages {
		empty[s.Mark] = s.Piece == "" && s.Side == 0
	}
	var out [][]int
	for i := range d.File.Marks {
		if how, ok := begun[i]; !ok || how != CastOn {
			continue
		}
		piece := []int{i}
		for k := i + 1; k < len(d.File.Marks) && !empty[k-1]; k++ {
			if _, other := begun[k]; other {
				break
			}
			if does(d.File.Marks[k].Phrase) {
				piece = append(piece, k)
			}
		}
		out = append(out, piece)
	}
	return out
}

// does says whether a phrase does something to the work, and does not only say how it stands.
func does(p grammar.Phrase) bool {
	switch p.(type) {
	case *grammar.Statement, *grammar.Layout, *grammar.Figure, *grammar.Amount, *grammar.Make, *grammar.GaugeSaid, *grammar.SizesSaid, *grammar.NextSide, *grammar.Space:
		return false
	}
	return true
}

// bindOpening relates the numbers of two pieces as far as their instructions are the same, and says whether those go further than the cast-on.
func (d seams) bindOpening(a, b []int) bool {
	n := 0
	for n < len(a) && n < len(b) && d.sameInstruction(a[n], b[n]) {
		n++
	}
	if n < 2 {
		return false
	}
	for j := range n {
		d.keepMarks(a[j], b[j])
	}
	return true
}

// hangs says whether all numbers of a form are such as the sizes of a run hang on.
func (d seams) hangs(run int, l Lin) bool {
	for _, t := range l.Terms {
		if !d.live[run][t.Quantity] {
			return false
		}
	}
	return true
}

// sameInstruction says whether two marked instructions are the same in every size, whatever they are called: the same thing
// done at the same edge in the same fabric, with the same numbers.
func (d seams) sameInstruction(a, b int) bool {
	m, n := d.File.Marks[a], d.File.Marks[b]
	if len(m.Only)+len(n.Only) > 0 || d.FabricOf(a) != d.FabricOf(b) || sense(m.Phrase) != sense(n.Phrase) {
		return false
	}
	if x, ok := m.Phrase.(*grammar.Work); ok {
		if y := n.Phrase.(*grammar.Work); x.Match != nil || y.Match != nil {
			return true
		}
	}
	p, q := d.ofMark[a], d.ofMark[b]
	if len(p) != len(q) {
		return false
	}
	for i := range p {
		x, y := d.Quantities[p[i]], d.Quantities[q[i]]
		if x.Role != y.Role || x.Hidden() != y.Hidden() || !d.sameNumber(x, y) {
			return false
		}
	}
	return true
}

// sameNumber says whether two numbers of the text are the same in every size; lengths also have to follow the same measure.
func (d seams) sameNumber(x, y *Quantity) bool {
	if x.Kind != Length && x.Kind != Yarn {
		return len(x.Drafted) == len(y.Drafted) && d.equalEverywhere(x.ID, y.ID)
	}
	if y.Kind != x.Kind || d.tieText(x.ID) != d.tieText(y.ID) || x.Value.Unit != y.Value.Unit {
		return false
	}
	for s := range d.Sizes {
		if numAt(x.Value, d.index(x, s)).Val.Cmp(numAt(y.Value, d.index(y, s)).Val) != 0 {
			return false
		}
	}
	return true
}

// sense is what an instruction does and where, without its numbers.
func sense(p grammar.Phrase) string {
	where := func(w grammar.Where) string { return fmt.Sprint(" at ", w.Ends, w.Edge, len(w.Parts)) }
	out := fmt.Sprintf("%T", p)
	clauses := func(cs []*grammar.Clause) {
		for _, c := range cs {
			out += fmt.Sprint(" clause ", c.Kind, c.Step, c.OnSide)
		}
	}
	switch p := p.(type) {
	case *grammar.CastOn:
		out += fmt.Sprint(p.More, p.Where != nil, p.EndOfRow, p.Needles)
	case *grammar.Work:
		out += fmt.Sprint(p.To, p.From != nil, p.Repeats != nil)
	case *grammar.Shape:
		out += fmt.Sprint(p.Increase, p.Starting, p.Meanwhile, where(p.Where))
		clauses(p.Clauses)
	case *grammar.Repeat:
		out += fmt.Sprint(p.Row != nil, p.Meanwhile)
		clauses(p.Clauses)
	case *grammar.Evenly:
		out += fmt.Sprint(p.Increase, p.Either)
	case *grammar.BindOff:
		out += fmt.Sprint(p.All, p.Centre != nil, p.With != nil)
		for _, s := range p.Steps {
			out += where(s.Where) + fmt.Sprint(s.EveryStep)
		}
	case *grammar.Turn:
		out += where(p.Where)
	}
	return out
}

// keepMarks keeps the numbers of two instructions equal that are the same.
func (d seams) keepMarks(a, b int) {
	const what = "what both begin with"
	p, q := d.ofMark[a], d.ofMark[b]
	for i := range min(len(p), len(q)) {
		if x := d.Quantities[p[i]]; !x.Hidden() && !x.Shared && x.Kind != Length && x.Kind != Yarn {
			d.keepNumbers(p[i], q[i], what)
		}
	}
	var tags []string
	for k := range d.hidden {
		if k.mark == a {
			tags = append(tags, k.tag)
		}
	}
	sort.Strings(tags)
	for _, tag := range tags {
		if y, ok := d.Hidden(b, tag); ok {
			x, _ := d.Hidden(a, tag)
			d.keepNumbers(x, y, what)
		}
	}
}

// keepNumbers keeps two quantities equal in the sizes that have them.
func (d seams) keepNumbers(a, b int, what string) {
	if !d.equalEverywhere(a, b) {
		return
	}
	x := make([]Lin, len(d.Runs))
	y := make([]Lin, len(d.Runs))
	for s := range d.Runs {
		x[s], y[s] = of(a), of(b)
	}
	d.keepEqual(x, y, d.Quantities[a].Mark, d.Quantities[b].Mark, what)
}
