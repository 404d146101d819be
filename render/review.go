package render

import (
	"math/big"
	"strconv"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// An account of changes is put into words once, here; the terminal, Markdown and HTML only lay those words out. Data
// (ReviewJSON) is drawn from the comparison itself.

// account is a comparison in words. Nothing in it is escaped.
type account struct {
	title  string
	lead   []string // whose account this is, and what changed in all
	legend string
	gauges []gaugeWords
	// measures are those of the draft block; keptMeasures are as they were.
	measures, keptMeasures []measureWords
	block                  string
	totals, keptTotals     []totalWords
	pieces                 []pieceWords
}

// state marks a change in words: "new", "gone", "moved here from Front".
type gaugeWords struct{ fabric, old, now, state string }

type measureWords struct{ name, old, now, state string }

// totalWords are a measure of the finished garment. asked is what it should be, missed and misses by how much at most the old
// and the new version are off.
type totalWords struct{ name, asked, askedBefore, old, missed, now, misses string }

type pieceWords struct {
	name, state string
	marks, kept []markWords
	prose       []proseWords
	keptNumbers int
}

type markWords struct {
	where   string // `line 41`
	label   string // the instruction without its numbers
	name    string
	state   []string
	told    bool  // the whole instruction is shown: it is new, gone, moved or reworded, or has several numbers
	runs    []run // the whole instruction, old against new
	ties    string
	why     string // of all its numbers
	numbers []numberWords
}

type numberWords struct {
	label                    string // what it belongs to
	state                    string
	old, now                 string
	oldSize, should, nowSize string
	why                      string
	changed                  bool
}

type proseWords struct {
	where string
	state string
	runs  []run
}

// accountant puts a comparison into words.
type accountant struct {
	r      *rewrite.Comparison
	o      Options
	inches bool
	differ listDiffer
}

func accountOf(r *rewrite.Comparison, o Options) *account {
	a := &accountant{r: r, o: o, inches: o.Units == "in" || o.Units == "" && r.New.Unit == grammar.Inches}
	out := &account{legend: a.legend(), gauges: a.gauges()}
	out.totals, out.keptTotals = a.totals()
	name := title(r.New.File)
	if r.Conversion != nil {
		out.title = "What changed in " + name
		out.lead = append(out.lead, strings.TrimSpace(plainMade(r.Conversion, o)))
	} else {
		out.title = name + ": two versions"
		if was := title(r.Old.File); was != name {
			out.title = was + " and " + name
		}
		out.lead = append(out.lead, "Old: "+r.Old.File.Name+". New: "+r.New.File.Name+".")
	}
	out.lead = append(out.lead, tallyText(r.Tally))
	for i := range r.Measures {
		m := &r.Measures[i]
		w := a.measure(m)
		if m.Is == rewrite.Same && m.Said == "" {
			out.keptMeasures = append(out.keptMeasures, w)
		} else {
			out.measures = append(out.measures, w)
		}
	}
	if r.Block {
		out.block = "The draft block says something else that is no gauge, size or measurement: a comment, or what sizes are chosen by."
	}
	for i := range r.Pieces {
		if p := &r.Pieces[i]; len(p.Marks)+len(p.Prose) > 0 || p.Moved {
			out.pieces = append(out.pieces, a.piece(p))
		}
	}
	return out
}

// tallyText is what changed in all, in a sentence or two.
func tallyText(t rewrite.Tally) string {
	if !t.Any() {
		return "Nothing changed: " + counted(t.Numbers, "number") + ", all as before."
	}
	s := strconv.Itoa(t.Changed) + " of " + counted(t.Numbers, "number") + " changed"
	if t.Extended > 0 {
		s += ", " + strconv.Itoa(t.Extended) + " more have values for a new size"
	}
	var more []string
	say := func(n int, what, done string) {
		if n > 0 {
			more = append(more, counted(n, what)+" "+done)
		}
	}
	say(t.Added, "instruction", "new")
	say(t.Dropped, "instruction", "gone")
	say(t.Moved, "instruction", "moved")
	say(t.Pieces, "whole piece", "moved")
	say(t.Reworded, "instruction", "reworded")
	say(t.Ties, "instruction", "tied otherwise")
	say(t.Renamed, "label", "changed")
	say(t.Prose, "passage", "of the text changed")
	say(t.Sizes, "size", "new or gone")
	say(t.Gauges, "gauge", "changed")
	say(t.Measures, "measure", "changed")
	say(t.Block, "other line", "of the draft block changed")
	if len(more) > 0 {
		s += "; " + strings.Join(more, ", ")
	}
	return s + "."
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

func (a *accountant) newSizes() []string {
	var out []string
	for _, s := range a.r.Sizes {
		if s.Old < 0 {
			out = append(out, s.Name)
		}
	}
	return out
}

// legend says in which order numbers stand, and which sizes are new or gone.
func (a *accountant) legend() string {
	var names, news, gone []string
	for _, s := range a.r.Sizes {
		name := s.Name
		if name == "" {
			name = "One size"
		}
		names = append(names, name)
		switch {
		case s.Old < 0:
			news = append(news, name)
		case s.New < 0:
			gone = append(gone, name)
		}
	}
	var out string
	if len(names) > 1 {
		out = "Numbers stand in the order of the sizes: " + layout(names, grammar.ListStyle{}) + "."
	} else if s := a.r.Sizes[0]; s.Beside != "" {
		out = s.Name + " is compared with " + s.Beside + "."
	}
	for _, x := range []struct {
		names []string
		are   string
	}{{news, "new"}, {gone, "gone"}} {
		if len(x.names) == 1 {
			out += " Size " + x.names[0] + " is " + x.are + "."
		} else if len(x.names) > 1 {
			out += " Sizes " + strings.Join(x.names, ", ") + " are " + x.are + "."
		}
	}
	return strings.TrimSpace(out)
}

func (a *accountant) gauges() []gaugeWords {
	var out []gaugeWords
	for _, g := range a.r.Gauges {
		w := gaugeWords{fabric: g.Fabric}
		if g.Old != nil {
			w.old = gaugeText(*g.Old, false)
		}
		if g.New != nil {
			w.now = gaugeText(*g.New, true)
			if g.New.Assumed {
				w.state = "assumed"
			}
		}
		switch g.Is {
		case rewrite.Added:
			w.state = "new"
		case rewrite.Dropped:
			w.state = "gone"
		case rewrite.Changed:
			if w.old == w.now {
				w.state = "its gauge before washing changed"
			}
		}
		out = append(out, w)
	}
	return out
}

func (a *accountant) measure(m *rewrite.MeasurePair) measureWords {
	w := measureWords{name: m.Name}
	text := func(x []*big.Rat) string {
		switch {
		case x == nil:
			return ""
		case !m.Length && m.Unit == grammar.Percent:
			return a.list(x, grammar.ListStyle{}, func(b []byte, v *big.Rat) []byte {
				return appendDecimals(b, new(big.Rat).Mul(v, big.NewRat(100, 1)), 2)
			}) + " %"
		case !m.Length:
			return a.list(x, grammar.ListStyle{}, func(b []byte, v *big.Rat) []byte { return appendDecimals(b, v, 2) })
		}
		return a.lengths(x, grammar.ListStyle{}, m.Unit)
	}
	w.old, w.now = text(m.Old), text(m.New)
	if m.Is == rewrite.Added || m.Is == rewrite.Dropped {
		w.state = stateWord(m.Is)
	} else if m.Said != "" {
		w.state = "was = " + m.WasSaid + ", is = " + m.Said
	}
	return w
}

// totals are what the garment measures: what changed, and what is as before.
func (a *accountant) totals() (changed, kept []totalWords) {
	for i := range a.r.Totals {
		t := &a.r.Totals[i]
		name := t.Name
		if t.Fits {
			name += " that it fits"
		}
		w := totalWords{name: name, old: a.sizes(t.Old), now: a.sizes(t.New), asked: a.sizes(t.NewWanted), askedBefore: a.sizes(t.OldWanted), missed: a.miss(t, false), misses: a.miss(t, true)}
		if w.old == w.now && (w.askedBefore == w.asked || w.askedBefore == "" && w.asked == w.now) {
			kept = append(kept, w)
			continue
		}
		if a.r.Conversion != nil || a.within(t.OldWanted, t.NewWanted) {
			w.askedBefore = ""
		}
		changed = append(changed, w)
	}
	return changed, kept
}

// within says whether a list says nothing that the other does not say, too.
func (a *accountant) within(old, now []*big.Rat) bool {
	for i, v := range old {
		if v != nil && (now[i] == nil || now[i].Cmp(v) != 0) {
			return false
		}
	}
	return true
}

// miss says by how much a version is off at most: `0.7 cm under, in XS`.
func (a *accountant) miss(t *rewrite.Total, now bool) string {
	by, size := t.Miss(now)
	if by == nil {
		return ""
	}
	text := a.one(new(big.Rat).Abs(by))
	if strings.HasPrefix(text, "0 ") {
		return "as asked"
	}
	side := " over"
	if by.Sign() < 0 {
		side = " under"
	}
	if len(a.r.Sizes) > 1 {
		return "at most " + text + side + ", in " + a.r.Sizes[size].Name
	}
	return text + side
}

func (a *accountant) piece(p *rewrite.PieceChange) pieceWords {
	out := pieceWords{name: p.Name}
	var state []string
	if p.Was != "" {
		state = append(state, "was "+p.Was)
	}
	if p.Moved {
		state = append(state, "the whole of it moved")
	}
	out.state = strings.Join(state, ", ")
	if out.name == "" {
		out.name = "At the beginning"
	}
	for i := range p.Marks {
		m := &p.Marks[i]
		whole := m.Is == rewrite.Added || m.Is == rewrite.Dropped
		told, kept := a.mark(m), markWords{}
		kept = told
		kept.numbers, kept.told, kept.state, kept.runs, kept.ties = nil, false, nil, nil, ""
		var shown []numberWords
		for _, n := range told.numbers {
			if whole {
				n.state = "" // the instruction's own
			}
			if n.changed || whole {
				shown = append(shown, n)
			} else {
				kept.numbers = append(kept.numbers, n)
			}
		}
		told.numbers = shown
		told.sayOnce()
		if len(shown) > 0 || whole || told.told && len(told.state) > 0 || told.ties != "" {
			out.marks = append(out.marks, told)
		}
		if len(kept.numbers) > 0 {
			out.keptNumbers += len(kept.numbers)
			out.kept = append(out.kept, kept)
		}
	}
	for i := range p.Prose {
		out.prose = append(out.prose, a.prose(&p.Prose[i]))
	}
	return out
}

// sayOnce takes a reason that all numbers of an instruction have to the instruction, once.
func (w *markWords) sayOnce() {
	if !w.told || len(w.numbers) < 2 {
		return
	}
	for _, n := range w.numbers[1:] {
		if n.why != w.numbers[0].why {
			return
		}
	}
	w.why = w.numbers[0].why
	for i := range w.numbers {
		w.numbers[i].why = ""
	}
}

func stateWord(s rewrite.State) string {
	switch s {
	case rewrite.Added:
		return "new"
	case rewrite.Dropped:
		return "gone"
	}
	return ""
}

func (a *accountant) mark(m *rewrite.MarkPair) markWords {
	label := plain(m.Label)
	if strings.HasPrefix(label, "…") && len(strings.Fields(label)) <= 2 {
		said := "stated"
		if len(m.Numbers) > 0 {
			said = m.Numbers[0].Phrase
		}
		label = said + ": " + label
	}
	w := markWords{label: label, name: m.Name, where: a.where(m)}
	if s := stateWord(m.Is); s != "" {
		w.state = append(w.state, s)
	}
	if m.Moved {
		from := "moved"
		if m.From != "" {
			from += " here from " + m.From
		}
		w.state = append(w.state, from)
	}
	switch {
	case m.Reworded && len(m.Numbers) == 0:
		w.state = append(w.state, "changed")
	case m.Reworded:
		w.state = append(w.state, "reworded")
	}
	if m.Renamed() {
		w.state = append(w.state, renamed(m.WasName, m.Name))
	}
	shown := 0
	for i := range m.Numbers {
		n := a.number(&m.Numbers[i])
		if n.changed {
			shown++
		}
		w.numbers = append(w.numbers, n)
	}
	if w.told = len(w.state) > 0 || len(m.Numbers) > 1; w.told {
		w.runs = a.sentence(m)
	}
	if m.WasTied != m.Tied {
		w.ties = "it was tied to " + orNothing(m.WasTied) + ", it is tied to " + orNothing(m.Tied)
	}
	return w
}

// renamed says what became of a label.
func renamed(was, now string) string {
	switch {
	case was == "":
		return "now named " + now
	case now == "":
		return "no longer named " + was
	}
	return "named " + now + ", was " + was
}

func orNothing(s string) string {
	if s == "" {
		return "as asked"
	}
	return plain(s)
}

// sentence is an instruction as it is to be shown: word by word against the old one where it was reworded.
func (a *accountant) sentence(m *rewrite.MarkPair) []run {
	was, now := plain(m.Was), plain(m.Now)
	switch {
	case m.Is == rewrite.Dropped:
		return []run{{was, both}}
	case m.Reworded:
		return a.differ.diff(was, now)
	}
	return []run{{now, both}}
}

// where is the line that an instruction stands in, and stood in where that was another.
func (a *accountant) where(m *rewrite.MarkPair) string {
	line := func(v *rewrite.Version, mark int) int {
		n, _ := v.File.Position(v.File.Marks[mark].Span.Start)
		return n
	}
	switch {
	case m.New < 0:
		return lineWords(line(&a.r.Old, m.Old), 0)
	case m.Old < 0:
		return lineWords(0, line(&a.r.New, m.New))
	}
	return lineWords(line(&a.r.Old, m.Old), line(&a.r.New, m.New))
}

func lineWords(old, now int) string {
	switch {
	case now == 0:
		return "was line " + strconv.Itoa(old)
	case old == 0 || old == now:
		return "line " + strconv.Itoa(now)
	}
	return "line " + strconv.Itoa(now) + ", was " + strconv.Itoa(old)
}

func (a *accountant) number(n *rewrite.NumberPair) numberWords {
	w := numberWords{label: n.Phrase, changed: n.Is != rewrite.Same, oldSize: a.sizes(n.OldMeasures), should: a.sizes(n.Wanted), nowSize: a.sizes(n.Measures), why: plain(n.Why)}
	w.old, w.now = a.value(n, n.Old), a.value(n, n.New)
	if w.oldSize == w.old {
		w.oldSize = "" // a length is what it measures
	}
	if w.nowSize == w.now {
		w.nowSize = ""
	}
	switch n.Is {
	case rewrite.Extended:
		w.state = "with " + strings.Join(a.newSizes(), ", ")
	default:
		w.state = stateWord(n.Is)
	}
	if n.Assumed && n.Is != rewrite.Dropped {
		w.why = strings.TrimPrefix(w.why+"; at an assumed gauge", "; ")
	}
	return w
}

// value is a number's values with what they count, in the layout of the draft.
func (a *accountant) value(n *rewrite.NumberPair, x []*big.Rat) string {
	switch {
	case x == nil:
		return ""
	case n.Unit.IsLength():
		return a.lengths(x, n.Style, n.Unit)
	}
	s := a.list(x, n.Style, func(b []byte, v *big.Rat) []byte { return appendDecimals(b, v, 2) })
	if u := unitWord(n.Kind, n.Unit, s == "1"); u != "" && n.Phrase != u && n.Phrase+"s" != u {
		s += " " + u
	}
	return s
}

// unitWord is what a number counts, as it follows the number.
func unitWord(k dsl.Kind, u grammar.Unit, one bool) string {
	word := ""
	switch k {
	case dsl.Stitches:
		word = "st"
	case dsl.Rows:
		switch u {
		case grammar.Rounds:
			word = "round"
		case grammar.Ridges:
			word = "ridge"
		default:
			word = "row"
		}
	case dsl.Times:
		word = "time"
	case dsl.Yarn:
		return map[grammar.Unit]string{grammar.Grams: "g", grammar.Ounces: "oz", grammar.Metres: "m", grammar.Yards: "yd", grammar.Balls: "balls"}[u]
	default:
		return ""
	}
	if one {
		return word
	}
	return word + "s"
}

// list is one value a size in the layout of s, or one where all are alike; a size that has none shows a dash, unless all others
// are alike.
func (a *accountant) list(x []*big.Rat, s grammar.ListStyle, write func(b []byte, v *big.Rat) []byte) string {
	var l sizeValues
	var first *big.Rat
	same := true
	for _, v := range x {
		if v == nil {
			l.text = append(l.text, "–"...)
		} else {
			same = same && (first == nil || equal(first, v))
			first = v
			l.text = write(l.text, v)
		}
		l.end()
	}
	if same && first != nil {
		return string(write(nil, first))
	}
	return string(l.appendList(nil, s))
}

// lengths are lengths of the draft, in centimetres where they are measures and in their own unit where they are numbers of the
// text; shown as they are written where a tape can be read so, else with two decimals.
func (a *accountant) lengths(x []*big.Rat, s grammar.ListStyle, u grammar.Unit) string {
	if !u.IsLength() {
		u = grammar.Centimetres
	}
	first, second := a.o.shown(u)
	text := a.lengthsIn(x, s, u, first)
	if second != grammar.NoUnit {
		text += " [" + a.lengthsIn(x, s, u, second) + "]"
	}
	return text
}

func (a *accountant) lengthsIn(x []*big.Rat, s grammar.ListStyle, from, to grammar.Unit) string {
	return a.list(x, s, func(b []byte, v *big.Rat) []byte {
		num, den := centimetresTo(from)
		back, by := centimetresTo(to)
		in := v
		if num*by != den*back {
			in = new(big.Rat).Mul(v, big.NewRat(num*by, den*back))
		}
		if to == grammar.Inches && new(big.Rat).Mul(in, big.NewRat(4, 1)).IsInt() {
			return appendTape(b, v, from, to)
		}
		return appendDecimals(b, in, 2)
	}) + " " + unitName(to)
}

// sizes are lengths to the tenth of a centimetre, or of an inch where the reader has inches: finer than a tape is read, so that
// one can see how near a whole number came. "" where there are none.
func (a *accountant) sizes(x []*big.Rat) string {
	for _, v := range x {
		if v != nil {
			first, second := grammar.Centimetres, grammar.Inches
			if a.inches {
				first, second = second, first
			}
			text := a.sizesIn(x, first)
			if a.o.Units == "both" {
				text += " [" + a.sizesIn(x, second) + "]"
			}
			return text
		}
	}
	return ""
}

func (a *accountant) sizesIn(x []*big.Rat, u grammar.Unit) string {
	return a.list(x, a.style(), func(b []byte, v *big.Rat) []byte {
		if u == grammar.Inches {
			v = new(big.Rat).Quo(v, inch)
		}
		return appendDecimals(b, v, 1)
	}) + " " + unitName(u)
}

// style is the layout of the new version's sizes.
func (a *accountant) style() grammar.ListStyle {
	if s := a.r.New.Draft.Block.Sizes; s != nil {
		return s.Style
	}
	return grammar.ListStyle{}
}

func (a *accountant) one(x *big.Rat) string { return a.sizes([]*big.Rat{x}) }

func (a *accountant) prose(p *rewrite.ProseChange) proseWords {
	line := func(v *rewrite.Version, at grammar.Span) int {
		if at.End == 0 {
			return 0
		}
		n, _ := v.File.Position(at.Start)
		return n
	}
	w := proseWords{where: lineWords(line(&a.r.Old, p.Old), line(&a.r.New, p.New)), state: stateWord(p.Is)}
	if p.Moved {
		w.state = "moved"
	}
	switch p.Is {
	case rewrite.Added:
		w.runs = []run{{p.Now, come}}
	case rewrite.Dropped:
		w.runs = []run{{p.Was, gone}}
	case rewrite.Same:
		w.runs = []run{{p.Now, both}}
	default:
		w.runs = a.differ.diff(p.Was, p.Now)
	}
	return w
}

// plainMade is made without mark-up.
func plainMade(c *rewrite.Conversion, o Options) string {
	var parts []string
	if len(c.Targets) == 1 && c.Targets[0].Name != "" {
		parts = append(parts, "Size "+c.Targets[0].Name+".")
	}
	if len(c.Gauges) > 0 {
		s := gaugeText(c.Gauges[0], true)
		if !c.Gauges[0].From.Same(c.Gauges[0].To) {
			s += "; drafted at " + gaugeText(c.Gauges[0], false)
		}
		parts = append(parts, s+".")
	}
	return strings.Join(parts, " ")
}
