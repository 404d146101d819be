package dsl

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"sort"
	"strings"

	"gaugewright/grammar"
)

// fault is one contradiction, gathered over the sizes it shows in.
type fault struct {
	diag  grammar.Diagnostic
	sizes []int
	texts []string
}

// hand is the work in hand.
type hand struct {
	piece     string
	begun     int // the mark that began it
	count     Lin
	taken     bool  // its count was stated with nothing in hand: that has been told
	sides     int64 // 2 while both sides of a centre bind-off are worked at once: counts are per side
	pos       int64 // rows worked in this piece, at the drafted numbers: which side comes next
	firstWS   bool  // row 1 is a wrong-side row
	round     bool
	roundSet  bool
	height    Height
	start     Height // where the piece's cast-on or first pick-up stands
	noStart   bool   // after a join, or a resume followed by a pick-up: `work to` needs a `from`
	picked    bool   // stitches have been picked up beside the work since it was taken up
	upWith    bool   // it began with stitches picked up
	shaping   bool   // the last rows were shaped
	parted    bool   // it is one side of a piece that was parted for the neck
	closing   *Top   // its last stitches are being bound off
	resumed   bool
	line      []int // the lineage: ids of the stretches of work this one came through
	story     []change
	past      []passed
	work      int // index in Run.Works
	held      int // the move of that work that set this one aside
	ahead     Lin // rows noted since the last that were passed
	meanwhile []*running
	panels    []PanelPart
	parts     []namedPart
	pending   int     // index in Scores of the last count, -1
	laid      int     // index in Layouts of the last one, -1
	joined    int     // index in Joins, and one, of what was put together, as long as its count has not changed
	grown     []Grown // shaping since then
	grownOdd  bool    // the count has changed in other ways since
	fabric    int     // `in FABRIC from here`
	fabricTo  int     // heading it holds under
	loose     bool    // how many stitches there are is not known: what led here is not marked
	lastMark  int     // the last marked instruction that took rows
	lastPos   Height
}

type change struct {
	mark  int
	delta int64
	what  string
}

type passed struct {
	mark  int
	rows  int64
	delta Lin
	lrows Lin
	edge  Edge
}

type namedPart struct {
	name string
	n    Lin
}

// running is shaping that goes on meanwhile.
type running struct {
	sched   *Schedule
	mark    int
	effect  Lin // on the count, when all of it is done
	perTime int64
	rows    Lin
	from    Height // where it starts
	grown   []Grown
	cloth   []Strip // what it adds to the cloth beside it
}

// label is a place in the work.
type label struct {
	mark   int
	height Height
	start  Height // of the piece
	line   int    // the stretch of work it stands in
	rows   Lin    // rows of the instruction, once known
	hasRow bool
}

type held struct {
	mark int
	hand hand
	name string
	gone bool // for good
	span grammar.Span
	more int64 // further ones like it, where its piece is made more than once
	used bool  // one of them was taken up again
}

// walker works the draft for one size.
type walker struct {
	d      *Draft
	run    *Run
	size   int
	now    *hand // nil with nothing in hand
	held   []*held
	labels map[string]*label
	lines  int
	swap   func(string) string // names while a twin is worked
	twin   int                 // mark of the twin being worked, -1
	again  int                 // mark of the outermost twin being worked, -1
	deep   int
	built  map[string]label // places such as `the cast-on`
	empty  int              // the heading under which it was told that nothing is in hand, -2
	groups map[string][]int // quantities of parts set aside, by where they came from
	mark   int

	unmeasured bool // how high the work is where this instruction begins is not followed
}

func (d *Draft) work() {
	for s := range d.Sizes {
		w := &walker{d: d, size: s, run: d.newRun(s), labels: map[string]*label{}, built: map[string]label{}, twin: -1, again: -1, empty: -2, groups: map[string][]int{}}
		w.marks(0, len(d.File.Marks))
		w.finish()
		d.Runs = append(d.Runs, w.run)
	}
	d.bindLayouts()
	d.bindSeams()
	d.bindSewn()
	d.tell()
}

// newRun is an empty run with room for what the size before it came to: sizes are worked much alike.
func (d *Draft) newRun(size int) *Run {
	r := &Run{Size: size}
	if size > 0 {
		b := d.Runs[size-1]
		r.Relations = slices.Grow(r.Relations, len(b.Relations)*5/4) // seams add some
		r.Scores = slices.Grow(r.Scores, len(b.Scores))
		r.Strips = slices.Grow(r.Strips, len(b.Strips))
		r.Works = slices.Grow(r.Works, len(b.Works))
		r.Stages = slices.Grow(r.Stages, len(b.Stages))
	}
	return r
}

// tell turns the faults gathered over all sizes into diagnostics.
func (d *Draft) tell() {
	for _, k := range d.order {
		f := d.faults[k]
		x := f.diag
		x.Summary = d.merged(f)
		d.diags = append(d.diags, x)
	}
}

// merged is one sentence for all sizes a fault shows in: `92 (100, 108) sts are stated`.
func (d *Draft) merged(f *fault) string {
	first := words(f.texts[0])
	columns := make([][]string, len(first))
	alike := true
	for _, t := range f.texts {
		w := words(t)
		if len(w) != len(first) {
			alike = false
			break
		}
		for i := range w {
			if w[i] != first[i] && !(number(w[i]) && number(first[i])) {
				alike = false
			}
			columns[i] = append(columns[i], w[i])
		}
	}
	if !alike {
		return d.Sizes[f.sizes[0]] + ": " + f.texts[0] + fmt.Sprintf(" (and otherwise in %d more sizes)", len(f.texts)-1)
	}
	var out strings.Builder
	for i, c := range columns {
		same := true
		for _, x := range c {
			same = same && x == c[0]
		}
		switch {
		case same || !number(first[i]):
			out.WriteString(first[i])
		default:
			out.WriteString(c[0] + " (" + strings.Join(c[1:], ", ") + ")")
		}
	}
	return out.String() + d.sizeNames(f.sizes)
}

// words cuts a sentence into numbers and what lies between.
func words(s string) []string {
	var out []string
	for len(s) > 0 {
		isNum := s[0] >= '0' && s[0] <= '9'
		i := 0
		for i < len(s) && (s[i] >= '0' && s[i] <= '9' || isNum && s[i] == '.' && i+1 < len(s) && s[i+1] >= '0' && s[i+1] <= '9') == isNum {
			i++
		}
		out = append(out, s[:i])
		s = s[i:]
	}
	return out
}

func number(s string) bool { return s != "" && s[0] >= '0' && s[0] <= '9' }

// fault reports a contradiction of this size at a place; the same one in other sizes is told together with it.
func (w *walker) fault(sev grammar.Severity, kind string, at grammar.Span, summary, detail, wayOut string, related ...grammar.Related) {
	if w.now != nil && w.now.loose && ofCounts[kind] {
		return
	}
	key := fmt.Sprint(kind, " ", w.mark)
	f, ok := w.d.faults[key]
	if !ok {
		f = &fault{diag: grammar.Diagnostic{Severity: sev, Check: kind, Span: at, Summary: summary, Detail: detail, WayOut: wayOut, Related: related}}
		w.d.faults[key] = f
		w.d.order = append(w.d.order, key)
	}
	for _, s := range f.sizes {
		if s == w.size {
			return
		}
	}
	if at != f.diag.Span {
		f.diag.Span = grammar.Span{Start: min(f.diag.Span.Start, at.Start), End: max(f.diag.Span.End, at.End)}
	}
	f.sizes = append(f.sizes, w.size)
	f.texts = append(f.texts, summary)
}

// ofCounts are the checks that need to know how many stitches are in hand.
var ofCounts = map[string]bool{"sum": true, "below zero": true, "until": true, "evenly": true, "divide": true, "space": true, "panel": true, "centre": true,
	"part": true, "last rows": true, "in hand": true, "pair": true, "unfinished": true, "markers": true, "turn": true, "meanwhile": true, "length": true, "match": true, "ending": true, "rows": true, "height": true}

// takenUp begins what is marked `taken up here`: what led to it is not followed, so nothing is known of the count, nor of the
// height, until they are said again.
func (w *walker) takenUp(m *grammar.Mark) {
	if !m.TakenUp {
		return
	}
	switch p := m.Phrase.(type) {
	case *grammar.CastOn:
		if !p.More && p.Where == nil && !p.EndOfRow {
			w.now = nil
			return
		}
	case *grammar.Work:
		w.unmeasured = p.Length != nil
		if p.To && w.now != nil {
			return
		}
	case *grammar.PickUp, *grammar.GaugeSaid, *grammar.SizesSaid, *grammar.Amount, *grammar.Figure, *grammar.Twin, *grammar.Join, *grammar.Resume:
		if _, again := p.(*grammar.Resume); again {
			w.now = nil
		}
		if _, again := p.(*grammar.PickUp); again {
			w.now = nil
		}
		return
	}
	if w.now == nil {
		w.begin(whole(0), "taken up here", CastOn)
	}
	h := w.now
	h.loose, h.meanwhile, h.panels, h.parts, h.pending, h.laid, h.sides, h.closing = true, nil, nil, nil, -1, -1, 1, nil
	h.count = whole(0)
}

func (w *walker) v(q int) int64 { return w.d.Quantities[q].Drafted[w.size] }

func (w *walker) at(l Lin) int64 { return l.At(w.v) }

// q is the quantity of a number; ok is false where the number is absent.
func (w *walker) q(v *grammar.Value) (int, bool) {
	if v == nil {
		return -1, false
	}
	id, ok := w.d.byValue[v]
	return id, ok
}

func (w *walker) num(v *grammar.Value) int64 {
	id, ok := w.q(v)
	if !ok {
		return 0
	}
	return w.v(id)
}

func (w *walker) hide(tag string, kind Kind, role string, drafted int64) int {
	id := w.d.hide(w.mark, tag, kind, role)
	w.d.Quantities[id].Drafted[w.size] = drafted
	return id
}

func (w *walker) m() *grammar.Mark { return w.d.File.Marks[w.mark] }

func (w *walker) relate(kind RelationKind, e Lin, mod int64, why string) {
	if w.now != nil && w.now.loose {
		return
	}
	w.run.Relations = append(w.run.Relations, Relation{Kind: kind, Expr: e, Mod: mod, Mark: w.mark, Why: why})
}

// same relates two counts and reports where the drafted ones differ.
func (w *walker) same(a, b Lin, why string) bool {
	w.relate(Zero, a.Plus(b, -1), 0, why)
	return w.at(a) == w.at(b)
}

func (w *walker) name(key string) string {
	if w.swap != nil {
		return w.swap(key)
	}
	return key
}

// fabricOf is the fabric an instruction is worked in.
func (w *walker) fabricOf(m *grammar.Mark) int { return w.d.placed(w.fabricSaid(m), w.where()) }

// where is the mark that is worked; in a twin it is that of the twin.
func (w *walker) where() int {
	if w.again >= 0 {
		return w.again
	}
	return w.mark
}

func (w *walker) fabricSaid(m *grammar.Mark) int {
	if m.Fabric != nil {
		if t, ok := w.d.names[m.Fabric.Key]; ok && t.what == "fabric" {
			return t.fabric
		}
	}
	if w.now != nil && w.now.fabric >= 0 && w.now.fabricTo == m.Heading {
		return w.now.fabric
	}
	return 0
}

// flat says whether the instruction is worked back and forth, where sides and pairs of rows count.
func (w *walker) flat() bool {
	if w.now != nil && w.now.roundSet {
		return !w.now.round
	}
	return !w.d.Fabrics[w.fabricOf(w.m())].Rounds
}

func (w *walker) place(i int, text string) grammar.Related {
	return grammar.Related{Span: w.d.File.Marks[i].PhraseSpan, Text: text}
}

// story is the sum that led to the count in hand, for a reader.
func (w *walker) story() (sum string, related []grammar.Related) {
	var b strings.Builder
	for i, c := range w.now.story {
		switch {
		case i == 0:
			fmt.Fprintf(&b, "%d (%s)", c.delta, c.what)
		case c.delta < 0:
			fmt.Fprintf(&b, " − %d (%s)", -c.delta, c.what)
		default:
			fmt.Fprintf(&b, " + %d (%s)", c.delta, c.what)
		}
		related = append(related, w.place(c.mark, c.what))
	}
	if len(w.now.story) > 1 {
		b.WriteString(strings.ReplaceAll(fmt.Sprintf(" = %d", w.at(w.now.count)), "= -", "= −"))
	}
	if len(related) > 6 {
		related = related[len(related)-6:]
	}
	return b.String(), related
}

// begin takes up a new piece of work.
func (w *walker) begin(count Lin, what string, how Begun) {
	w.lines++
	h := &hand{begun: w.mark, count: count, sides: 1, pending: -1, laid: -1, fabric: -1, line: []int{w.lines}, lastMark: -1}
	h.story = []change{{w.mark, w.at(count), what}}
	w.now = h
	h.piece = w.heading(w.mark)
	w.trace(how, "")
	w.sideSaid()
}

func (w *walker) heading(i int) string {
	if h := w.d.File.Marks[i].Heading; h >= 0 {
		return w.d.File.Headings[h].Text
	}
	return ""
}

// sideSaid notices, between this instruction and the next, that the draft says the next row is a wrong-side row.
func (w *walker) sideSaid() {
	end := len(w.d.File.Src)
	if w.mark+1 < len(w.d.File.Marks) {
		end = w.d.File.Marks[w.mark+1].Span.Start
	}
	for _, s := range w.d.File.WrongSide {
		if s.Start >= w.m().Span.Start && s.Start < end {
			w.now.firstWS = w.now.pos%2 == 0
		}
	}
}

// score notes that the count after this instruction is a size to keep; the last one not yet stated is taken over by
// the statement that follows it.
func (w *walker) scoreCount(tie int) {
	h := w.now
	if h.loose || h.count.IsConst() && tie < 0 {
		h.pending = -1
		return
	}
	w.run.Scores = append(w.run.Scores, Score{Expr: h.count, Fabric: w.fabricOf(w.m()), Panels: h.panels, Tie: tie, Mark: w.mark, Count: true})
	h.pending = len(w.run.Scores) - 1
}

func (w *walker) scoreWidth(e Lin, tie int) {
	if e.IsConst() {
		return
	}
	w.run.Scores = append(w.run.Scores, Score{Expr: e, Fabric: w.fabricOf(w.m()), Tie: tie, Mark: w.mark})
}

func (w *walker) scoreRows(e Lin, tie int) {
	if e.IsConst() {
		return
	}
	w.run.Scores = append(w.run.Scores, Score{Expr: e, Rows: true, Fabric: w.fabricOf(w.m()), Tie: tie, Mark: w.mark})
}

// tieOf is the quantity where its tie says a length that is wished for, else -1; a tie of counts is related exactly.
func (w *walker) tieOf(id int) int {
	if id < 0 {
		return -1
	}
	q := w.d.Quantities[id]
	if q.Tie == nil || q.Tie.Kind == Length && (q.Kind == Stitches || q.Kind == Rows) {
		if q.Tie == nil {
			return -1
		}
		return id
	}
	return -1
}

// ties relates what the ties of a quantity demand: exact relations, multiples. The drafted numbers are checked.
func (w *walker) ties(id int) {
	if id >= 0 {
		w.tiesOf(id, of(id))
	}
}

// tiesOf is the same where what a multiple is asked of is not the number alone, but so many times it.
func (w *walker) tiesOf(id int, count Lin) {
	q := w.d.Quantities[id]
	if q.Kind == Length || q.Kind == Yarn {
		return
	}
	n := w.at(count)
	for _, t := range q.Of {
		if q.Least == 0 && n == 0 && q.Role == "evenly" {
			continue
		}
		w.relate(Multiple, count.Add(-t.Plus), t.Of, fmt.Sprintf("%s must be %s", w.phrase(), multipleText(t)))
		if mod(n-t.Plus, t.Of) != 0 {
			lo := n - mod(n-t.Plus, t.Of)
			w.fault(grammar.Fault, "multiple", w.numSpan(q), fmt.Sprintf("%d is not %s", n, multipleText(t)), "",
				fmt.Sprintf("the nearest that are: %d and %d", lo, lo+t.Of), grammar.Related{Span: t.Span, Text: "asked for here"})
		}
	}
	if q.Tie == nil || q.Tie.Kind == Length {
		return
	}
	f, err := w.d.Eval(q.Tie.Expr, w.d.DraftedSize(w.size), w.d.DraftedGauges())
	if err != nil {
		return // reported when the ties were read
	}
	// k·(quantity) = k·(the expression), with k the least number that makes every coefficient whole.
	k := new(big.Int).Set(f.Const.Denom())
	for _, t := range f.Terms {
		if w.elsewhere(w.d.Quantities[t.Quantity]) {
			return
		}
		k = LCM(k, t.Coef.Denom())
	}
	scale := new(big.Rat).SetInt(k)
	toInt := func(x *big.Rat) int64 { return new(big.Rat).Mul(x, scale).Num().Int64() }
	rhs := whole(toInt(f.Const))
	var said []string
	for _, t := range f.Terms {
		rhs = rhs.Plus(of(t.Quantity), toInt(t.Coef))
		said = append(said, fmt.Sprintf("%s is %d", w.d.Quantities[t.Quantity].Name, w.v(t.Quantity)))
	}
	if !w.same(of(id).Times(k.Int64()), rhs, fmt.Sprintf("%s must equal %s", w.phrase(), w.d.File.Text(q.TieAt))) {
		want := new(big.Rat).SetFrac(big.NewInt(w.at(rhs)), k)
		var rel []grammar.Related
		for _, t := range f.Terms {
			rel = append(rel, w.place(w.d.Quantities[t.Quantity].Mark, w.d.Quantities[t.Quantity].Name+" is here"))
		}
		text := want.RatString()
		w.fault(grammar.Fault, "relation", w.numSpan(q), fmt.Sprintf("%d does not equal %s, which comes to %s", w.v(id), w.d.File.Text(q.TieAt), text), strings.Join(said, ", "), "change this number, or the tie", rel...)
	}
}

// LCM is the least common multiple of two numbers above zero.
func LCM(a, b *big.Int) *big.Int {
	g := new(big.Int).GCD(nil, nil, a, b)
	return new(big.Int).Mul(a, new(big.Int).Quo(b, g))
}

func mod(a, b int64) int64 { return ((a % b) + b) % b }

func multipleText(t grammar.TieMultiple) string {
	switch {
	case t.Of == 2 && t.Plus == 0:
		return "even"
	case t.Of == 2 && mod(t.Plus, 2) == 1:
		return "odd"
	case t.Plus == 0:
		return fmt.Sprintf("a multiple of %d", t.Of)
	case t.Plus < 0:
		return fmt.Sprintf("a multiple of %d − %d", t.Of, -t.Plus)
	}
	return fmt.Sprintf("a multiple of %d + %d", t.Of, t.Plus)
}

func (w *walker) numSpan(q *Quantity) grammar.Span {
	if q.Value != nil && !q.Value.Scattered {
		return numAt(q.Value, w.d.index(q, w.size)).Span
	}
	return w.d.File.Marks[q.Mark].PhraseSpan
}

func (w *walker) phrase() string {
	d := w.d
	if d.phrases == nil {
		d.phrases = make([]string, len(d.File.Marks))
	}
	if d.phrases[w.mark] == "" {
		d.phrases[w.mark] = "`" + strings.Join(strings.Fields(d.File.Text(w.m().PhraseSpan)), " ") + "`"
	}
	return d.phrases[w.mark]
}

// need says that work must be in hand for an instruction.
// need says whether something is in hand. Where nothing is, that is told once under each heading.
func (w *walker) need(what string) bool {
	if w.now != nil {
		return true
	}
	if w.empty == w.m().Heading {
		return false
	}
	w.empty = w.m().Heading
	way := "cast on, pick up or resume first"
	var names []string
	for _, h := range w.held {
		if !h.gone && h.name != "" {
			names = append(names, h.name)
		}
	}
	switch verb := w.beginsOutside(); {
	case verb != "":
		way = "take the words into the braces: `{" + verb + " " + strings.TrimSpace(w.d.File.Text(w.m().PhraseSpan)) + "}`"
	case len(names) > 0:
		way = "resume what is set aside (" + andList(names) + "), or cast on"
	}
	w.fault(grammar.Fault, "nothing", w.m().PhraseSpan, fmt.Sprintf("nothing is in hand to %s", what), "", way)
	return false
}

var beginning = regexp.MustCompile(`(?i)\b(cast(?:ing)? on|co|pick(?:ing)? up(?: and knit)?)\b[^.{}]*$`)

// beginsOutside is the words in the prose right before a marked count that would begin a piece, were they inside its braces; "" where
// there are none.
func (w *walker) beginsOutside() string {
	if _, ok := w.m().Phrase.(*grammar.Statement); !ok {
		return ""
	}
	from := 0
	if w.mark > 0 {
		from = w.d.File.Marks[w.mark-1].Span.End
	}
	from = max(from, w.m().Span.Start-80)
	if m := beginning.FindSubmatch(w.d.File.Src[from:w.m().Span.Start]); m != nil {
		return strings.ToLower(string(m[1]))
	}
	return ""
}

// left is the stitches in hand that must be bound off, held or worked on.
func (w *walker) left() int64 {
	if w.now == nil || w.now.taken {
		return 0
	}
	return w.at(w.now.count)
}

// passed notes that rows went by.
func (w *walker) pass(rows Lin, drafted int64, delta Lin) {
	h := w.now
	h.ahead = Lin{}
	if w.m().SameRow {
		h.past = append(h.past, passed{mark: w.mark, delta: delta})
		return
	}
	h.lastMark, h.lastPos = w.mark, h.height
	h.past = append(h.past, passed{mark: w.mark, rows: drafted, delta: delta, lrows: rows})
	if w.flat() {
		h.pos += drafted
	} else {
		// Every round is a right-side round, so that rows after rounds begin with one.
		h.pos, h.firstWS = 0, false
	}
	h.height = h.height.plus(w.fabricOf(w.m()), rows)
}

// change alters the count in hand.
func (w *walker) change(delta Lin, what string) {
	h := w.now
	if what != "bound off" && what != "bound off in steps" {
		h.closing = nil
	}
	if h.loose {
		return
	}
	h.count, h.joined = h.count.Plus(delta, 1), 0
	h.story = append(h.story, change{w.mark, w.at(delta), what})
	if n := w.at(h.count); n < 0 {
		sum, rel := w.story()
		w.fault(grammar.Fault, "below zero", w.m().PhraseSpan, fmt.Sprintf("%d sts are taken away, but only %d are in hand", -w.at(delta), n-w.at(delta)), sum, "take away fewer, or mend the count before", rel...)
	}
	if !delta.IsConst() {
		// Where stitches are left in the draft, some are left at any gauge.
		left := min(1, max(0, w.at(h.count)))
		w.relate(AtLeast, h.count.Add(-left), 0, "stitches are left in hand after "+w.phrase())
	}
}

// state is a count that is said: it must be what is in hand, and the work goes on with it.
func (w *walker) state(id int, what string) {
	h := w.now
	q := of(id)
	if !w.same(q, h.count, fmt.Sprintf("%s is what is in hand", w.phrase())) {
		sum, rel := w.story()
		w.fault(grammar.Fault, "sum", w.numSpan(w.d.Quantities[id]), fmt.Sprintf("%d sts are stated, but %d are in hand", w.v(id), w.at(h.count)), sum, "correct the number that is wrong", rel...)
	}
	h.count, h.loose = q, false
	h.story = []change{{w.mark, w.v(id), "stated"}}
	if what != "" {
		h.story[0].what = what
	}
}

// rowsEven keeps the side on which the next instruction of flat work begins.
func (w *walker) parity(rows Lin) {
	if w.flat() && !rows.IsConst() {
		w.relate(Multiple, rows.Add(-mod(w.at(rows), 2)), 2, fmt.Sprintf("%s keeps the side on which the next row begins", w.phrase()))
	}
}

// marks works the instructions [from, to).
func (w *walker) marks(from, to int) {
	for i := from; i < to; i++ {
		m := w.d.File.Marks[i]
		if len(m.Only) > 0 && !w.only(m) {
			continue
		}
		w.mark = i
		w.instruction(m)
	}
}

func (w *walker) only(m *grammar.Mark) bool {
	for _, x := range m.Only {
		if s, ok := w.d.sizeIndex(x.Key); ok && s == w.size {
			return true
		}
	}
	return false
}

func (w *walker) instruction(m *grammar.Mark) {
	i := w.mark
	if w.now != nil && m.RowWord != grammar.NoUnit {
		if _, isGauge := m.Phrase.(*grammar.GaugeSaid); !isGauge {
			w.now.round, w.now.roundSet = m.RowWord == grammar.Rounds, true
		}
	}
	var before Height
	var start Height
	line := 0
	if w.now != nil {
		before, start, line = w.now.height, w.now.start, w.now.line[len(w.now.line)-1]
	}
	w.takenUp(m)
	was := w.now
	passedBefore := 0
	if was != nil {
		passedBefore = len(was.past)
	}
	if w.inWords(m.Told); m.Told != nil && w.now != nil {
		before = w.now.height // its place is behind what is told before it
	}
	w.do(m)
	w.mark, w.unmeasured = i, false
	if w.now != nil && w.now != was {
		// The instruction took the work up: its place is where that work now stands.
		before, start, line = w.now.height, w.now.start, w.now.line[len(w.now.line)-1]
		if m.RowWord != grammar.NoUnit {
			w.now.round, w.now.roundSet = m.RowWord == grammar.Rounds, true
		}
	}
	l := label{mark: i, height: before, start: start, line: line}
	if w.now != nil && w.now == was && len(w.now.past) > passedBefore {
		l.rows, l.hasRow = w.now.past[len(w.now.past)-1].lrows, true
	}
	for _, t := range m.Ties {
		if a, ok := t.(*grammar.TieAs); ok {
			x := l
			w.labels[a.Name.Key] = &x
			if k := w.name(a.Name.Key); k != a.Name.Key {
				y := l
				w.labels[k] = &y
			}
		}
	}
	if m.FromHere && w.now != nil {
		w.now.fabric, w.now.fabricTo = -1, m.Heading
		w.now.fabric = w.fabricSaid(m)
	}
	if w.now != nil {
		w.run.Stages = append(w.run.Stages, w.stage(i, passedBefore, was == w.now))
	} else {
		s := Stage{Mark: i, Rows: whole(0)}
		if was != nil {
			s.Rows = was.rowsSince(passedBefore)
		}
		w.run.Stages = append(w.run.Stages, s)
	}
}

// inWords works what is told in words before an instruction, `after 2 rows with 8 sts more`: its stitches never change, so that the
// counts on both sides of it hang together at any gauge.
func (w *walker) inWords(t *grammar.Told) {
	if t == nil || !w.need("work on") {
		return
	}
	w.settle(false)
	h, by, rows := w.now, whole(t.Change), whole(t.Rows)
	from := h.count
	if t.Change != 0 {
		w.change(by, "told in words")
	}
	if t.Rows == 0 {
		h.past = append(h.past, passed{mark: w.mark, delta: by})
		return
	}
	w.strip(rows, from, h.count)
	w.pass(rows, t.Rows, by)
}

func (w *walker) stage(i, passedBefore int, sameHand bool) Stage {
	h := w.now
	s := Stage{Mark: i, Piece: h.piece, Count: h.count, Side: h.sides, Upto: h.height, Rows: whole(0), Flat: w.flat()}
	if sameHand {
		s.Rows = h.rowsSince(passedBefore)
	}
	for _, r := range h.meanwhile {
		s.Running = append(s.Running, Partial{Schedule: r.sched, Elapsed: w.elapsed(r.from), PerTime: r.perTime})
	}
	return s
}

// rowsSince is the rows of all that was worked after the first so many entries of what is past.
func (h *hand) rowsSince(entries int) Lin {
	rows := whole(0)
	for _, p := range h.past[min(entries, len(h.past)):] {
		rows = rows.Plus(p.lrows, 1)
	}
	return rows
}

// beside is where shaping that runs meanwhile starts: on the first row of the instruction before it that took rows.
func (h *hand) beside() Height {
	if h.lastMark >= 0 {
		return h.lastPos
	}
	return h.height
}

// built-in places: the latest of each in the piece.
func (w *walker) builtIn(name string) {
	if w.now == nil {
		return
	}
	l := label{mark: w.mark, height: w.now.height, start: w.now.start, line: w.now.line[len(w.now.line)-1]}
	w.built[name] = l
	switch name {
	case "bind-off": // the first one of a piece; those after it are at the neck
		if was, ok := w.built["underarm"]; !ok || !slices.Contains(w.now.line, was.line) {
			w.built["underarm"] = l
		}
	case "pick-up", "divide", "join":
		w.built["underarm"] = l
	}
}

// atUnderarm is where the underarm is that no instruction was named: the latest place in the piece where work was parted, joined,
// added or picked up, or where binding off began.
func (w *walker) atUnderarm(key string, l *label) *label {
	if key != "underarm" && key != "underarms" || w.now == nil || l != nil && slices.Contains(w.now.line, l.line) {
		return l
	}
	if b, ok := w.built["underarm"]; ok && slices.Contains(w.now.line, b.line) {
		return &b
	}
	return l
}

// lookup is the place a label names; the work in hand must have come through it.
func (w *walker) lookup(name *grammar.Word) (*label, bool) {
	key := strings.TrimPrefix(name.Key, "the ")
	var l *label
	if b, ok := w.built[builtKey(key)]; ok {
		l = &b
	} else if x, ok := w.labels[w.name(name.Key)]; ok {
		l = x
	} else if x, ok := w.labels[name.Key]; ok {
		l = x
	} else if x, ok := w.labels[key]; ok {
		l = x
	} else if h := w.findHeld(name.Key); h != nil {
		l = &label{mark: h.mark, height: h.hand.height, start: h.hand.start, line: h.hand.line[len(h.hand.line)-1]}
	}
	if l = w.atUnderarm(key, l); l == nil {
		var names []string
		for k := range w.labels {
			names = append(names, k)
		}
		sort.Strings(names)
		way := "name one with `as NAME` on the instruction where it begins"
		if best := grammar.Nearest(key, names); best != "" {
			way = "did you mean " + best + "?"
		} else if len(names) > 0 {
			way = "known so far: " + strings.Join(names, ", ")
		}
		w.fault(grammar.Error, "label", name.Span, fmt.Sprintf("no place called %s has been passed", name.Text), "", way)
		return nil, false
	}
	if w.now != nil {
		for _, x := range w.now.line {
			if x == l.line {
				return l, true
			}
		}
		w.fault(grammar.Error, "label", name.Span, fmt.Sprintf("%s lies in another piece of work than the one in hand", name.Text), "", "measure from a place in this piece", w.place(l.mark, "it is here"))
		return nil, false
	}
	return l, true
}

func builtKey(k string) string {
	switch k {
	case "cast-on", "cast on", "cast-on edge", "cast on edge", "beginning":
		return "cast-on"
	case "bind-off", "bind off", "cast-off", "cast off":
		return "bind-off"
	case "pick-up", "pick up", "picked-up edge":
		return "pick-up"
	case "divide", "division", "dividing row":
		return "divide"
	case "join", "joining", "joining round":
		return "join"
	case "shaping":
		return "shaping"
	}
	return ""
}

// shapingBegins notes the place where shaping or binding off begins after straight work.
func (w *walker) shapingBegins() {
	if w.now != nil && !w.now.shaping {
		w.builtIn("shaping")
		w.now.shaping = true
	}
}

func (w *walker) findHeld(key string) *held {
	for _, k := range []string{w.name(key), key} {
		for i := len(w.held) - 1; i >= 0; i-- {
			if grammar.Key(w.held[i].name) == k {
				return w.held[i]
			}
		}
	}
	return nil
}

// end is called when nothing is left in hand.
func (w *walker) end() {
	if w.now != nil {
		w.settle(true)
	}
	w.now = nil
}

// finish reports what was never finished.
func (w *walker) finish() {
	if w.now != nil {
		if n := w.left(); n > 0 && len(w.now.story) > 0 && !w.now.loose {
			w.mark = len(w.d.File.Marks) - 1
			sum, rel := w.story()
			w.fault(grammar.Warning, "unfinished", w.m().PhraseSpan, fmt.Sprintf("the draft ends with %d sts in hand", n), sum, "bind them off, hold them or draw the yarn through", rel...)
		}
		w.settle(true)
	}
	w.made()
	for _, h := range w.held {
		if h.gone || h.used {
			continue
		}
		name := h.name
		if name == "" {
			name = "these stitches"
		}
		w.mark = h.mark
		w.fault(grammar.Fault, "held "+name, h.span, name+" is set aside here and never taken up again", "", "resume it, join it, graft it, or say `for good`")
	}
}

// elapsed is the rows passed since a height.
func (w *walker) elapsed(from Height) Lin { return w.now.height.since(from).rows() }

// settle takes the shaping that runs meanwhile as far as it has come: what is finished changes the count; with last set,
// what is not finished does not fit.
func (w *walker) settle(last bool) {
	h := w.now
	var still []*running
	for _, r := range h.meanwhile {
		gone, need := w.elapsed(r.from), r.rows
		if w.at(gone) >= w.at(need) {
			mark := w.mark
			w.mark = r.mark
			w.relate(AtLeast, gone.Plus(need, -1), 0, fmt.Sprintf("%s fits beside the rows it runs with", w.phrase()))
			h.count = h.count.Plus(r.effect, 1)
			h.story = append(h.story, change{r.mark, w.at(r.effect), "meanwhile"})
			h.grown = append(h.grown[:len(h.grown):len(h.grown)], r.grown...)
			w.besideStrips(r, gone)
			w.mark = mark
			continue
		}
		if last {
			w.run.Relations = append(w.run.Relations, Relation{Kind: AtLeast, Expr: gone.Plus(need, -1), Mark: r.mark, Why: "the shaping meanwhile fits beside the rows it runs with"})
			w.fault(grammar.Fault, "meanwhile", w.d.File.Marks[r.mark].PhraseSpan, fmt.Sprintf("this needs %d rows, but only %d pass beside it", w.at(need), w.at(gone)), "", "shape fewer times or at shorter intervals, or work further before this point", w.place(w.mark, "the rows end here"))
			h.count = h.count.Plus(r.effect, 1)
			h.story = append(h.story, change{r.mark, w.at(r.effect), "meanwhile"})
			w.besideStrips(r, r.rows)
			continue
		}
		still = append(still, r)
	}
	h.meanwhile = still
}
