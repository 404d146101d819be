package render

import (
	"math/big"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// ReviewJSON is what changed between two versions of a draft as data, version 1. Lists have one entry for each of `sizes`, null
// where a version does not have that size, and are empty where there is nothing to list. Numbers are as in ChangesJSON: counts
// are integers, lengths and amounts decimal strings in the unit that `kind` names; what ends in _cm is in centimetres. `is` is
// same, changed, extended (the same, with values for sizes that are new), added or dropped. What did not change is there, too,
// except paragraphs of the text. `words` is a comparison word by word: same, out and in.
func ReviewJSON(r *rewrite.Comparison) ([]byte, error) {
	out := reviewData{
		Version: version, Old: baseName(r.Old.File.Name), New: baseName(r.New.File.Name), Converted: r.Conversion != nil, Differs: r.Tally.Any(),
		Counts: countsOf(r.Tally), Block: r.Block,
	}
	for _, s := range r.Sizes {
		out.Sizes = append(out.Sizes, reviewSize{s.Name, s.Beside, s.Old >= 0, s.New >= 0})
	}
	for i := range r.Gauges {
		out.Gauges = append(out.Gauges, gaugePairOf(&r.Gauges[i]))
	}
	for _, m := range r.Measures {
		out.Measures = append(out.Measures, reviewMeasure{m.Name, m.Is.String(), m.Length, cmOf(m.Old), cmOf(m.New), m.WasSaid, m.Said})
	}
	for _, t := range r.Totals {
		out.Totals = append(out.Totals, reviewTotal{t.Name, cmOf(t.OldWanted), cmOf(t.Old), cmOf(t.NewWanted), cmOf(t.New)})
	}
	d := reviewer{r: r}
	for i := range r.Pieces {
		if p := &r.Pieces[i]; len(p.Marks)+len(p.Prose) > 0 || p.Moved {
			out.Pieces = append(out.Pieces, d.piece(p))
		}
	}
	return marshal(out)
}

type reviewData struct {
	Version   int             `json:"version"`
	Old       string          `json:"old"`
	New       string          `json:"new"`
	Converted bool            `json:"converted"`
	Differs   bool            `json:"differs"`
	Counts    countsData      `json:"counts"`
	Sizes     []reviewSize    `json:"sizes"`
	Gauges    []reviewGauge   `json:"gauges"`
	Measures  []reviewMeasure `json:"measures"`
	Block     bool            `json:"block_says_something_else"`
	Totals    []reviewTotal   `json:"totals"`
	Pieces    []reviewPiece   `json:"pieces"`
}

type countsData struct {
	Numbers  int `json:"numbers"`
	Changed  int `json:"changed"`
	Extended int `json:"extended"`
	Added    int `json:"instructions_added"`
	Dropped  int `json:"instructions_dropped"`
	Moved    int `json:"instructions_moved"`
	Reworded int `json:"instructions_reworded"`
	Ties     int `json:"instructions_tied_otherwise"`
	Renamed  int `json:"labels_changed"`
	Prose    int `json:"text"`
}

type reviewSize struct {
	Name   string `json:"name"`
	Beside string `json:"compared_with,omitempty"`
	Old    bool   `json:"old"`
	New    bool   `json:"new"`
}

type reviewGauge struct {
	Fabric  string           `json:"fabric"`
	Is      string           `json:"is"`
	From    *reviewGaugeData `json:"from"`
	To      *reviewGaugeData `json:"to"`
	Assumed bool             `json:"assumed"`
}

type reviewGaugeData struct {
	Stitches string `json:"stitches"`
	Rows     string `json:"rows"`
	OverCm   string `json:"over_cm"`
}

type reviewMeasure struct {
	Name     string `json:"name"`
	Is       string `json:"is"`
	Length   bool   `json:"length"`
	From     []any  `json:"from"`
	To       []any  `json:"to"`
	FromSaid string `json:"from_said,omitempty"`
	ToSaid   string `json:"to_said,omitempty"`
}

type reviewTotal struct {
	Name      string `json:"name"`
	OldWanted []any  `json:"old_wanted_cm"`
	Old       []any  `json:"old_measures_cm"`
	Wanted    []any  `json:"wanted_cm"`
	New       []any  `json:"measures_cm"`
}

type reviewPiece struct {
	Piece        string        `json:"piece"`
	Was          string        `json:"was,omitempty"`
	Moved        bool          `json:"moved"`
	Instructions []reviewMark  `json:"instructions"`
	Text         []reviewProse `json:"text"`
}

type reviewMark struct {
	Is        string         `json:"is"`
	Name      string         `json:"name"`
	WasName   string         `json:"was_named,omitempty"`
	Old       *placeData     `json:"old"`
	New       *placeData     `json:"new"`
	Moved     bool           `json:"moved"`
	MovedFrom string         `json:"moved_from,omitempty"`
	Reworded  bool           `json:"reworded"`
	Words     []wordsData    `json:"words,omitempty"`
	WasTied   string         `json:"was_tied,omitempty"`
	Tied      string         `json:"tied_to,omitempty"`
	Numbers   []reviewNumber `json:"numbers"`
}

type placeData struct {
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Text   string `json:"text"`
}

type wordsData struct {
	Same string `json:"same,omitempty"`
	Out  string `json:"out,omitempty"`
	In   string `json:"in,omitempty"`
}

type reviewNumber struct {
	Is          string `json:"is"`
	Name        string `json:"name"`
	Phrase      string `json:"phrase"`
	Kind        string `json:"kind"`
	From        []any  `json:"from"`
	To          []any  `json:"to"`
	OldMeasures []any  `json:"old_measures_cm"`
	Wanted      []any  `json:"wanted_cm"`
	Measures    []any  `json:"measures_cm"`
	Tied        bool   `json:"tied"`
	Assumed     bool   `json:"assumed"`
	Why         string `json:"why"`
}

type reviewProse struct {
	Is    string      `json:"is"`
	Moved bool        `json:"moved"`
	Old   *placeData  `json:"old"`
	New   *placeData  `json:"new"`
	Words []wordsData `json:"words,omitempty"`
}

func gaugeOf(g dsl.Gauge, over *big.Rat) *reviewGaugeData {
	if over == nil || over.Sign() <= 0 {
		over = ten
	}
	return &reviewGaugeData{decimal(new(big.Rat).Mul(g.Stitches, over)), decimal(new(big.Rat).Mul(g.Rows, over)), decimal(over)}
}

// cmOf is values as decimal strings; an empty list where there are none.
func cmOf(x []*big.Rat) []any { return valuesOf(x, false) }

func valuesOf(x []*big.Rat, counts bool) []any {
	out := []any{}
	any := false
	for _, v := range x {
		switch {
		case v == nil:
			out = append(out, nil)
			continue
		case counts && v.IsInt() && v.Num().IsInt64():
			out = append(out, v.Num().Int64())
		default:
			out = append(out, decimal(v))
		}
		any = true
	}
	if !any {
		return out[:0]
	}
	return out
}

func countsOf(t rewrite.Tally) countsData {
	return countsData{t.Numbers, t.Changed, t.Extended, t.Added, t.Dropped, t.Moved, t.Reworded, t.Ties, t.Renamed, t.Prose}
}

func gaugePairOf(g *rewrite.GaugePair) reviewGauge {
	x := reviewGauge{Fabric: g.Fabric, Is: g.Is.String()}
	if g.Old != nil {
		x.From = gaugeOf(g.Old.From, g.Old.Over)
	}
	if g.New != nil {
		x.To, x.Assumed = gaugeOf(g.New.To, g.New.Over), g.New.Assumed
	}
	return x
}

// reviewer draws what changed under one heading after another as data.
type reviewer struct {
	r      *rewrite.Comparison
	differ listDiffer
}

func (d *reviewer) piece(p *rewrite.PieceChange) reviewPiece {
	out := reviewPiece{Piece: p.Name, Was: p.Was, Moved: p.Moved, Instructions: []reviewMark{}, Text: []reviewProse{}}
	for i := range p.Marks {
		out.Instructions = append(out.Instructions, d.mark(&p.Marks[i]))
	}
	for i := range p.Prose {
		out.Text = append(out.Text, d.prose(&p.Prose[i]))
	}
	return out
}

func place(v *rewrite.Version, at int, text string) *placeData {
	line, column := v.File.Position(at)
	return &placeData{line, column, text}
}

func (d *reviewer) mark(m *rewrite.MarkPair) reviewMark {
	was, now := plain(m.Was), plain(m.Now)
	x := reviewMark{Is: m.Is.String(), Name: m.Name, Moved: m.Moved, MovedFrom: m.From, Reworded: m.Reworded, Numbers: []reviewNumber{}}
	if m.Old >= 0 {
		x.Old = place(&d.r.Old, d.r.Old.File.Marks[m.Old].Span.Start, was)
	}
	if m.New >= 0 {
		x.New = place(&d.r.New, d.r.New.File.Marks[m.New].Span.Start, now)
	}
	if m.Reworded {
		x.Words = wordsOf(d.differ.diff(was, now))
	}
	if m.Renamed() {
		x.WasName = m.WasName
	}
	if m.WasTied != m.Tied {
		x.WasTied, x.Tied = m.WasTied, m.Tied
	}
	for i := range m.Numbers {
		x.Numbers = append(x.Numbers, numberOf(&m.Numbers[i]))
	}
	return x
}

func numberOf(n *rewrite.NumberPair) reviewNumber {
	counts := n.Kind != dsl.Length && n.Kind != dsl.Yarn && !n.Unit.IsLength()
	return reviewNumber{
		Is: n.Is.String(), Name: n.Name, Phrase: n.Phrase, Kind: kindOf(n.Kind, n.Unit),
		From: valuesOf(n.Old, counts), To: valuesOf(n.New, counts),
		OldMeasures: cmOf(n.OldMeasures), Wanted: cmOf(n.Wanted), Measures: cmOf(n.Measures),
		Tied: n.Tied, Assumed: n.Assumed, Why: plain(n.Why),
	}
}

func (d *reviewer) prose(c *rewrite.ProseChange) reviewProse {
	x := reviewProse{Is: c.Is.String(), Moved: c.Moved}
	if c.Is != rewrite.Added {
		x.Old = place(&d.r.Old, c.Old.Start, c.Was)
	}
	if c.Is != rewrite.Dropped {
		x.New = place(&d.r.New, c.New.Start, c.Now)
	}
	if c.Is == rewrite.Changed {
		x.Words = wordsOf(d.differ.diff(c.Was, c.Now))
	}
	return x
}

func wordsOf(runs []run) []wordsData {
	var out []wordsData
	for _, r := range runs {
		switch r.is {
		case gone:
			out = append(out, wordsData{Out: r.text})
		case come:
			out = append(out, wordsData{In: r.text})
		default:
			out = append(out, wordsData{Same: r.text})
		}
	}
	return out
}
