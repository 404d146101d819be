// Package rewrite is the CHANGE: it turns the shapes a draft draws into whole numbers for another gauge or another
// wearer, and those numbers into edits of the draft's own text.
package rewrite

import (
	"math/big"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// Request is what a draft is to be converted to. The zero Request asks for the draft as it stands.
type Request struct {
	Gauges   []AskedGauge
	Tighter  []Tighter
	Sizes    []string            // names of drafted sizes, in any spelling of case; none: all
	Wearer   string              // the name of the one size a wearer's measurements make; "" where none are given
	Measures map[string]*big.Rat // a wearer's measures by name key, in centimetres (plain numbers as they are)
	Pins     []Pin
	Knitted  string // a label: everything before it is on the needles already
	// KnittedAt is the gauges that what is knitted has, where they are not those asked for: the tension changed on the way.
	// KnittedAsDrafted says that it has those of the draft.
	KnittedAt        []AskedGauge
	KnittedAsDrafted bool
}

// AskedGauge is a gauge asked for. Rows may be nil: then they keep the draft's ratio of rows to stitches, as an assumption.
type AskedGauge struct {
	Fabric string // "" for the first fabric
	Piece  string // where it is that of the second of a pair, its name, see [dsl.Draft.Again]; Fabric is then ""
	Gauge  dsl.Gauge
	Text   string         // as it was asked for, `18 sts and 25 rows to 10 cm`
	Over   *grammar.Value // the width it was asked for over; nil where it was read from a card
	Swatch *dsl.Swatch    // where it was read from a card, else nil
}

// Tighter allows for a place that comes out tighter than the first fabric, as a small circumference often does, where it was not
// swatched by itself: By is the share by which its stitches and rows are smaller, 0.04 for four per cent.
type Tighter struct {
	Fabric string
	By     *big.Rat
}

// Pin fixes a named number of stitches or rows in every size.
type Pin struct {
	Name  string
	Value []int64 // one, or one for each size of the result
}

// Conversion is the one result from which every output is drawn.
type Conversion struct {
	Draft       *dsl.Draft
	New         []byte        // the new draft, in the notation
	Edits       []Edit        // from the draft to New, in order, not overlapping
	Targets     []dsl.Target  // the sizes of the result
	Gauges      []GaugeChange // one a fabric
	Measures    []MeasureChange
	Numbers     []Number   // one for each number of a marked instruction, in the order of the draft
	Marks       []MarkText // one for each marked instruction, in the order of the draft
	Fabrics     []dsl.Gauge
	Assumptions []string
	Warnings    []string
	Cautions    []string // where the work can hurt someone
	Seconds     []Second // the second of a pair, where it has its own gauge
	HalfWay     *HalfWay // what becomes of what is knitted already; nil where nothing is
	Yarn        *Yarn    // nil where nothing is worked
	Proven      bool     // the optimum is proven for every part
	Nodes       int      // search nodes, all sizes together
	Unchanged   bool     // not a byte differs
	values      [][]int64
	solved      []*solved
	kept        dsl.Kept
}

// Keep is what make makes of a conversion that is finished, made once and kept with it, see [dsl.Kept.Keep]: several outputs are
// drawn from the same.
func (c *Conversion) Keep(key any, make func() any) any { return c.kept.Keep(key, make) }

// Edit replaces the bytes [Start, End) of the draft.
type Edit struct {
	Start, End int
	New        string
}

// GaugeChange is a fabric's gauge before and after, in stitches and rows to a centimetre.
type GaugeChange struct {
	Fabric   string
	From, To dsl.Gauge
	Assumed  bool     // not measured: changed by the ratio of a fabric that was
	Over     *big.Rat // the width the draft states it over, in centimetres
	Rounds   bool
	// Stretch is how long the cloth is on the needles, before washing, for each length of it when finished; nil where no swatch
	// was given or it is not known.
	Stretch *big.Rat
	// Hang is how long the cloth is when it hangs with the weight of the piece on it, for each length of it lying flat; nil where
	// that was not measured. To.Rows is then the gauge as it hangs.
	Hang *big.Rat
}

// MeasureChange is a measure of the draft before (one a drafted size) and after (one a target), in centimetres, or plain.
type MeasureChange struct {
	Name     string
	Length   bool
	Unit     grammar.Unit // what the author writes it in
	From, To []*big.Rat
}

// Number is one number of a marked instruction before and after.
type Number struct {
	Quantity int
	Name     string // `as NAME`, or ""
	Mark     int
	Span     grammar.Span // of the number (all sizes) in the draft
	Piece    string       // the heading it stands under
	Phrase   string       // what it belongs to, in the trade's words: "cast on", "work", "decrease"
	Kind     dsl.Kind
	Unit     grammar.Unit
	From     []*big.Rat // one a drafted size
	To       []*big.Rat // one a target
	// Wanted and Measures are the size wished for and the size it comes to, in centimetres, one a target; an entry is
	// nil where the number has no size of its own (times, a yarn amount).
	Wanted, Measures []*big.Rat
	// Rows and OnNeedles are, of a length that is worked to at the gauge of a swatch, the rows it takes in all from where it is
	// measured, and how many centimetres they are before washing, one a target. Else they are nil.
	Rows, OnNeedles []*big.Rat
	// Flat is, of a length in cloth that stretches as it hangs, how many centimetres it is lying flat, one a target; else nil.
	Flat    []*big.Rat
	Rounds  bool // those rows are rounds
	Tied    bool
	Assumed bool
	Changed bool
}

// MarkText is a marked instruction as the reader of the result sees it, without braces and ties.
type MarkText struct {
	Mark    int
	Pieces  []Piece
	Changed bool
	// Spelled is the spread written out, one text a target, where the instruction asks for it: `k4, (k2tog, k8) 9 times`.
	Spelled []string
	// Figures are what a maker may want to know of it: rows worked, stitches in hand after it, one a target.
	Rows, After []int64
	Rounds      bool // those rows are rounds
	Each        bool // what is in hand is two sides, and After counts one of them
	Rewritten   bool // the sentence changed, not only its digits
}

// Piece is a stretch of an instruction's text; Was is what stood there in the draft where it changed.
type Piece struct {
	Text    string
	Was     string
	Changed bool
	Number  int // index in Conversion.Numbers, -1
}

// Convert re-derives a draft. With an error among the diagnostics the conversion is nil.
func Convert(d *dsl.Draft, r Request) (*Conversion, grammar.Diagnostics) {
	return convert(d, r)
}
