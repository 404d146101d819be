// Package grammar is the FORM of a draft: Markdown goes in, blocks and marked instructions come out, every token with
// its byte span and its spelling. It knows words and shapes, not what they mean: whether sums hold is asked in dsl.
package grammar

import (
	"math/big"
	"slices"
)

// Span is a half-open range of byte offsets in File.Src.
type Span struct{ Start, End int }

// File is a draft, a swatch card or a body card, parsed once.
type File struct {
	Name      string
	Src       []byte
	Blocks    []*Block
	Marks     []*Mark   // in the order of the source
	Headings  []Heading // in the order of the source
	Loose     []Loose   // numbers in prose that no brace holds, in the order of the source
	WrongSide []Span    // places in prose or braces that say the next row (or Row 1) is a wrong-side row
	lines     []int     // offset of the start of each line
}

// Labelled is the first marked instruction that is given a name of that key, `as NAME`; −1 where there is none.
func (f *File) Labelled(key string) int {
	return slices.IndexFunc(f.Marks, func(m *Mark) bool { return m.Called(key) })
}

// Called says whether a marked instruction is given a name of that key.
func (m *Mark) Called(key string) bool {
	return slices.ContainsFunc(m.Labels(), func(w Word) bool { return w.Key == key })
}

// Labels is the names that are given to a marked instruction, `as NAME`.
func (m *Mark) Labels() []Word {
	var out []Word
	for _, t := range m.Ties {
		if a, ok := t.(*TieAs); ok {
			out = append(out, a.Name)
		}
	}
	return out
}

// Under is the marked instructions that stand under a heading of that key, in order; a heading may stand more than once.
func (f *File) Under(key string) []int {
	var out []int
	for i, m := range f.Marks {
		if m.Heading >= 0 && Key(f.Headings[m.Heading].Text) == key {
			out = append(out, i)
		}
	}
	return out
}

// Heading is a Markdown heading; Text is its plain text with marks and mark-up left out.
type Heading struct {
	Span  Span
	Level int
	Text  string
}

// Loose is a number in prose that is neither marked nor one of the kinds readings leave out (needle sizes, row and
// chart labels, stitch patterns, "last 3 sts" inside a row's text).
type Loose struct {
	Span Span
	Text string // the number, with those of the further sizes and the word after it that tells what it counts
	Unit Unit   // what that word is, NoUnit where it is none
}

// BlockKind says which of the three fenced blocks this is.
type BlockKind int

const (
	DraftBlock BlockKind = iota
	SwatchBlock
	BodyBlock
)

// Block is one fenced block. Only the fields of its kind are set.
type Block struct {
	Kind     BlockKind
	Span     Span // the whole block, fences included
	Body     Span // what stands between the fences
	Notation *Num // `notation 1`
	Fabrics  []*FabricDef
	Sizes    *SizeList
	SizedBy  *Word
	Measures []*MeasureDef
	Swatch   *Swatch
}

// Word is a piece of text as it was written, with the spelling used to compare it (lower case, single spaces,
// escapes undone).
type Word struct {
	Span Span
	Text string // as written, escapes undone, white space folded to single blanks
	Key  string // Text in lower case: what names are compared by
}

// FabricDef is `fabric NAME: 20 sts and 28 rows to 10 cm, unwashed 21 sts and 27 rows to 10 cm`.
type FabricDef struct {
	Span     Span
	Name     Word
	Gauge    GaugeText
	Unwashed *GaugeText
}

// GaugeText is `20 sts and 28 rows to 10 cm`. Rows may be absent (Rows == nil) only where an option allows it
// (`--gauge "18 sts to 10 cm"`), never in a fabric statement.
type GaugeText struct {
	Span     Span
	Stitches *Value
	Rows     *Value
	Rounds   bool   // the word was rounds
	Over     *Value // a length
}

// SizeList is `sizes: S (M, L)`.
type SizeList struct {
	Span  Span // of the whole list, `S (M, L)`
	Names []Word
	Style ListStyle
}

// MeasureDef is `NAME = EXPRESSION`.
type MeasureDef struct {
	Span Span
	Name Word
	Expr Expr
}

// Swatch is what one ```swatch block says.
type Swatch struct {
	Span     Span
	Fabric   Word
	Needles  string // as written: `4.5 mm`
	Round    bool   // `in the round`
	Flat     bool   // `flat`
	Unwashed []Reading
	Washed   []Reading
	Hung     []Reading
	Weighs   *Value // grams or ounces
	Wide     *Value
	Tall     *Value
	Ball     *Value // what a ball of its yarn weighs, grams or ounces
	Runs     *Value // how long the yarn of a ball is, metres or yards
}

// Reading is one count measured several times: `36 sts over 16.4 cm, 16.5 cm, 16.3 cm`.
type Reading struct {
	Span  Span
	Count *Value   // sts or rows
	Over  []*Value // lengths
}

// Unit is what a number counts. Units are types: see dsl for which may meet.
type Unit int

const (
	NoUnit Unit = iota
	Stitches
	Rows
	Rounds
	Ridges // two rows each
	Centimetres
	Millimetres
	Inches
	Grams
	Ounces
	Metres
	Yards
	Balls
	Percent
	Repeats
)

// IsLength says whether u is one of the lengths that cloth is measured by.
func (u Unit) IsLength() bool { return u == Centimetres || u == Millimetres || u == Inches }

// IsRows says whether u counts rows in any of their names.
func (u Unit) IsRows() bool { return u == Rows || u == Rounds || u == Ridges }

// Num is one number as it was written.
type Num struct {
	Span Span
	Text string   // as written: `15½`, `15 1/2`, `4th`, `−3`, `twenty-one`, `once`
	Val  *big.Rat // exact
}

// ListStyle is how a list of values, one a size, was spelled, so that a new one can be spelled alike.
type ListStyle struct {
	Open, Close string   // `(` `)`; the blank before is Gap
	Gap         string   // between first value and bracket: ` `
	Sep         string   // `, ` or `: ` and so on
	Between     []string // what stands between each value and the next, brackets included: ` (`, `, `, `)[`, `, `
}

// Value is one number for every size, or one a size: `98 (106, 114) sts`.
// Span covers numbers, brackets and the unit; NumSpan covers the numbers and brackets only.
type Value struct {
	Span      Span
	NumSpan   Span
	Nums      []Num     // one, or one for each size
	Style     ListStyle // set where len(Nums) > 1
	Unit      Unit
	UnitSpan  Span   // empty where no unit is written
	Second    *Value // the bracketed second unit: `38 cm [15 in]`
	Scattered bool   // the numbers are not in one list (a layout written size by size): only NumSpans of Nums may be edited
}

// Expr is an expression of a measure or a tie.
type Expr interface{ ExprSpan() Span }

type (
	// Lit is a literal value, one or one a size, with or without a unit: `10 cm`, `5 (6, 6) sts`, `2`, `10%`.
	Lit struct{ Value *Value }
	// NameRef is a name; whether it exists is asked in dsl.
	NameRef struct{ Name Word }
	// Binary is one of + - * /.
	Binary struct {
		Span Span
		Op   byte
		L, R Expr
	}
	// Neg is a leading minus.
	Neg struct {
		Span Span
		X    Expr
	}
	// Choice is `smaller of A and B` (also `A, B and C`) or `larger of …`.
	Choice struct {
		Span   Span
		Larger bool
		Of     []Expr
	}
	// InFabric is `24 rows in lace`, `30 sts in rib`: a count that is a length through a fabric.
	InFabric struct {
		Span   Span
		X      Expr
		Fabric Word
	}
)

func (e *Lit) ExprSpan() Span      { return e.Value.Span }
func (e *NameRef) ExprSpan() Span  { return e.Name.Span }
func (e *Binary) ExprSpan() Span   { return e.Span }
func (e *Neg) ExprSpan() Span      { return e.Span }
func (e *Choice) ExprSpan() Span   { return e.Span }
func (e *InFabric) ExprSpan() Span { return e.Span }

// Mark is one `{ PHRASE | TIE, TIE … }`.
type Mark struct {
	Span       Span   // braces included
	PhraseSpan Span   // the phrase, without surrounding blanks, leading dash or colon, or closing full stop
	BarSpan    Span   // from the bar to just before the closing brace; empty where there are no ties
	Phrase     Phrase // never nil in a File that was returned without errors
	Ties       []Tie
	Fabric     *Word  // `in FABRIC`
	FromHere   bool   // `in FABRIC from here`
	SameRow    bool   // `on the same row` (leading or trailing)
	SpelledOut bool   // `spelled out`
	TakenUp    bool   // `taken up here`, after the bar
	Told       *Told  // `after 2 rows with 8 sts more`, after the bar
	Only       []Word // `sizes L and XL only: …`; nil for all
	Ending     Side   // `ending with a WS row`, `ending with RS facing for next row` (that is: ends with a WS row)
	RowWord    Unit   // Rows or Rounds: the last of these words used in the phrase; NoUnit if none
	Heading    int    // index in File.Headings of the nearest heading before it (or holding it), -1 if none
	InTable    bool
}

// Told is what rows do that are told in words before a mark, and not marked.
type Told struct {
	Rows   int64 // 0 where they belong to the row worked before
	Change int64 // of the stitches in hand, in every size
}

// Side is a side of flat work.
type Side int

const (
	NoSide Side = iota
	RS
	WS
)

// Tie is one of what stands after the bar.
type Tie interface{ TieSpan() Span }

type (
	// TieExpr is an expression of lengths or of counts.
	TieExpr struct{ Expr Expr }
	// TieMultiple is `multiple of 4 + 2` (also `multiple of 4`, `multiple of 4 - 1`), `even` (2 + 0), `odd` (2 + 1).
	TieMultiple struct {
		Span     Span
		Of, Plus int64
	}
	// TieAs is `as NAME`.
	TieAs struct {
		Span Span
		Name Word
	}
	// TieFixed is `fixed`.
	TieFixed struct{ Span Span }
	// TieReading says how an instruction is meant whose words leave it open: see Reads.
	TieReading struct {
		Span Span
		Of   Reads
		Name *Word // `from NAME`, `to NAME`
		Num  int64 // `on 3 needles`, `in 2 rows`, `after 2 rows`
		Sts  int64 // `with 8 sts more`; below nothing where it says fewer
	}
	// TieRounded is `rounded up` or `rounded down`.
	TieRounded struct {
		Span Span
		Up   bool
	}
)

func (t *TieExpr) TieSpan() Span     { return t.Expr.ExprSpan() }
func (t *TieMultiple) TieSpan() Span { return t.Span }
func (t *TieAs) TieSpan() Span       { return t.Span }
func (t *TieFixed) TieSpan() Span    { return t.Span }
func (t *TieRounded) TieSpan() Span  { return t.Span }
func (t *TieReading) TieSpan() Span  { return t.Span }

// Reads is one way in which words can be meant.
type Reads int

const (
	TakenUpHere  Reads = iota // `taken up here`: what came before is not followed; a count that is said is taken as it is
	Added                     // `added`: a cast-on adds to the work in hand
	ForGood                   // `for good`: what is set aside never comes back
	InAll                     // `in all`: the times of a repeat count the first
	MoreTimes                 // `more`: they do not
	FromPlace                 // `from NAME`: where a length is measured from
	OnNeedles                 // `on 3 needles`: so many times what is said of one needle
	BothEnds                  // `at both ends`
	PickedUpHere              // `picked up`: a count that is said is picked up
	ToPlace                   // `to NAME`: how far a twin is worked
	InRows                    // `in 2 rows`: the rows that shaping of one row takes with the plain ones after it
	InWords                   // `after 2 rows with 8 sts more`: what rows do that stand before it and are told in words
)

// Phrase is one instruction or statement. Every field that is a number keeps its span.
type Phrase interface{ phrase() }

type (
	// CastOn is `cast on 98 sts`, `cast on 8 sts at the underarm`, `cast on 1 st over the gap`,
	// `cast on 8 sts at the end of the next row`, `cast on 4 more sts`.
	CastOn struct {
		Count    *Value
		More     bool     // `more`: adds to the work in hand
		Where    *Word    // `at the underarm`, `over the gap`: adds to the work in hand
		EndOfRow bool     // `at the end (or beginning) of the next row`: adds, in that row; takes one row
		Rows     *Value   // `at the end of the next 2 rows`: so many each of so many rows
		Needles  int64    // `on each of 3 needles`: Count is what each of them has; 0 where it is all, -1 where how many is not said
		Rest     *Value   // `and 20 on the 3rd`: what one more needle has
		Shares   []*Value // `16 on each`, where Count says all of them
	}
	// PickUp is `pick up 64 sts` (and knit, along/from/at …), `pick up 3 sts for every 4 rows [of flap]`.
	PickUp struct {
		Count           *Value
		PerSts, PerRows *Value // the ratio form; Count is then nil
		Of              *Word
		Where           *Word
	}
	// Work is rows that pass without shaping.
	Work struct {
		Rows    *Value // rows, rounds or ridges
		Length  *Value // a length
		To      bool   // `to L`, `until piece measures L`
		From    *Word  // `from LABEL`; the Key of a built-in place is one of cast-on, bind-off, pick-up, divide, join
		Repeats *Value // `work 2 repeats of 12 rows`: Rows is 12
		Match   *Word  // `work to match LABEL of PIECE`
		MatchOf *Word
	}
	// Shape is a schedule of shaping.
	Shape struct {
		Increase  bool
		Sts       *Value // stitches a time, all edges named by Where counted as written: 1 in `1 st at each end`
		Where     Where
		Clauses   []*Clause
		ListSpan  Span   // from the first clause to the last (their joining words included)
		Starting  bool   // `starting on the next row`
		Until     *Value // `until 78 sts remain`, `until there are 76 sts`
		Meanwhile bool
		After     *Word  // meanwhile `starting 5 cm after LABEL`
		AfterBy   *Value // the 5 cm (or rows)
		InRows    int64  // shaping of one row: the rows it takes with the plain ones after it, where that is said; else 0
		Then      bool   // `then at each end of every row 4 times`: it goes on with the shaping marked before it
		GoesOn    *Shape // that shaping
	}
	// Clause is one stretch of a schedule.
	Clause struct {
		Span       Span
		Kind       ClauseKind
		EverySpan  Span   // what says the interval: `every 4th row`, `alternate rows`, `on every row`
		Every      *Value // the interval in rows where it is written as numbers (ordinals included); nil: see Step
		Step       int    // the interval where it is written in words: 1 `every row`, 2 `every other row`, `every RS row`, `alternate rows`
		OnSide     Side   // `every RS row`
		Times      *Value // nil only with Until, or in OneRow
		TimesSpan  Span   // `6 times`, `5 more times`
		More       bool   // `more`, `further`
		Sts        *Value // stitches a time where a later clause gives its own: `then 2 sts every 2nd row 3 times`
		CountFirst bool   // `foll 6 alt rows`, `on the next 5 rows`: Times stands inside EverySpan
	}
	// ClauseKind tells where a clause shapes.
	Where struct {
		Span  Span
		Ends  Ends
		Edge  string // the edge's name for NamedEdge: `neck`, `armhole`; lower case
		Parts []Word // `in the sleeves`, for a named layout
	}
	// Repeat is `repeat the decrease row every 4th row 5 more times`, `repeat the last 2 rows 11 more times`.
	Repeat struct {
		Row       *Word   // label of the row repeated
		LastRows  *Value  // or the number of rows repeated
		Labels    []int64 // their numbers in the text, where it speaks of them by those: `rows 1 and 2`
		Clauses   []*Clause
		ListSpan  Span
		Times     *Value // of the last rows; n more times
		More      bool   // `more`/`further`/`again` was said (without it, `repeat 4 times` is read as 4 more and noted)
		Until     *Value
		Meanwhile bool
		InAll     bool // `in all`, after the bar: Times counts the first working, too
	}
	// Evenly is `decrease 8 sts evenly`, `increase or decrease evenly to 204 sts`, `decrease 1 st in every 4`.
	Evenly struct {
		Increase bool
		Either   bool   // `increase or decrease`
		VerbSpan Span   // the words `increase`, `dec`, `increase or decrease`
		Count    *Value // stitches changed; nil in the `to` form
		To       *Value // the count after, where said
		InEvery  *Value // `1 st in every 4`
	}
	// BindOff is every way of binding off.
	BindOff struct {
		Count    *Value // plain: so many stitches
		All      bool   // `bind off all sts`, `bind off the remaining 30 sts` (Count set too)
		Centre   *Value
		Leaving  *Value
		Steps    []*Step
		ListSpan Span
		With, A  *Word // `bind off A with B`
		Where    *Word
	}
	// Step is one clause of a stepped bind-off: `5 sts at the beginning of the next 2 rows`,
	// `3 sts at the neck edge on the next row`, `2 sts every 2nd row 2 times`.
	Step struct {
		Span      Span
		Sts       *Value
		Where     Where
		Rows      *Value // `next 2 rows`: number of rows; one where `next row` is said (Nums[0].Span empty)
		Every     *Value // interval, with Times
		EveryStep int
		EverySpan Span
		Times     *Value
		TimesSpan Span
	}
	// Turn is short rows: `turn 6 sts before the end, 4 times`.
	Turn struct {
		Steps    []*TurnStep
		ListSpan Span
		Where    Where
	}
	// TurnStep is one clause of short rows.
	TurnStep struct {
		Span      Span
		Sts       *Value
		Times     *Value
		TimesSpan Span
	}
	// Hold is `hold 30 sts as left front`, `hold 30 sts for good`.
	Hold struct {
		Count   *Value // nil: `hold all sts as …`
		Name    *Word
		ForGood bool
	}
	// Resume is `resume left front`; without a name it takes up what was set aside last, and Count says how many those are.
	// `knit across the 13 sts of pocket lining` takes them up into the row in hand.
	Resume struct {
		Name   Word
		Count  *Value
		Across bool
	}
	// Divide is `divide into 78 sts as back, 78 sts as front`.
	Divide struct {
		Parts   []Part
		ForGood bool // `for good`, after the bar
	}
	// Part is a count with a name, in a division or a layout; Name is nil where none is given.
	Part struct {
		Count *Value
		Name  *Word
	}
	// Join is `join 300 sts`, `join A, B and C: 268 sts`. Count may be nil where names are given.
	Join struct {
		Names []Word
		Count *Value
	}
	// Panel is `panel of 24 sts in cable after 22 sts`; Fabric stands in the Mark.
	Panel struct {
		Count *Value
		After *Value
	}
	// EndPanel is `end panel` (a fabric's name may say which, else the latest).
	EndPanel struct{ Name *Word }
	// Space is `space 7 buttonholes over 90 rows`, also `of 4 sts each`, `ends included`, `24 before and 6 after`.
	Space struct {
		Count         *Value
		What          Word
		Each          *Value // stitches or rows each takes
		Over          *Value
		EndsIncluded  bool
		EndsLeftOut   bool
		Before, After *Value
	}
	// Layout is `24 + 24 + 20 sts`, `24 sts as shoulder + 30 sts + 24 sts`.
	Layout struct {
		Parts []Part
		Each  *Value // not set by a sum
	}
	// Statement is a count, rows, or a length that is said, not done: `78 sts remain`, `{— 90 sts}`, `38 cm [15 in]`.
	Statement struct {
		Value    *Value
		EachSide bool
		From     *Word // `38 cm from underarm`
		Of       *Word
	}
	// GaugeSaid is `22 sts and 30 rows to 10 cm` in the text; it follows the fabric (Mark.Fabric, or the first).
	GaugeSaid struct{ Gauge GaugeText }
	// SizesSaid is `S (M, L)` in the text.
	SizesSaid struct{ List SizeList }
	// Amount is yarn: grams, ounces, metres, yards, balls.
	Amount struct{ Value *Value }
	// Twin is `work right front as left front [to LABEL]`, `work as back to LABEL`.
	Twin struct {
		Name Word // its Key is "" where only a heading says what is worked
		As   Word
		To   *Word
	}
	// Make is `make 2`.
	Make struct{ Count *Value }
	// Close ends the stitches in hand without binding off.
	Close struct {
		How   CloseKind
		Count *Value // nil: all
		A, B  *Word  // graft A to B
	}
	// NextSide is `next row is a WS row`, `Row 1 (WS)`.
	NextSide struct{ Side Side }
	// Spelled is a stretch of a row that is repeated, `(k8, k2tog) 10 times`, `*k6, k2tog; rep from * around`: each time takes up
	// so many stitches and makes so many.
	Spelled struct {
		Span         Span
		Takes, Makes int64
		Times        *Value // nil: to the end of the row, so that the count in hand divides by Takes
		More         bool   // `rep from * 9 more times`: once more than Times
	}
	// Figure is a bare number that a tie governs.
	Figure struct{ Value *Value }
)

// ClauseKind tells when, in its rows, a clause shapes.
type ClauseKind int

const (
	OnLast  ClauseKind = iota // `every 4th row 6 times`: on the last row of each interval
	NextAnd                   // `on the next row and every following 4th row 5 times`: once now, then Times more
	OnNext                    // `on the next 5 rows`, `next 5 alternate rows`: on the first row of each interval
	OneRow                    // `of the next row`: once, one row
)

// Ends is where along the row shaping stands.
type Ends int

const (
	Unplaced   Ends = iota // nothing said: `8 sts every 2nd round`
	EachEnd                // `at each end`, `at both ends`
	Beginning              // `at the beginning`
	End                    // `at the end`
	NamedEdge              // `at the neck edge`
	Markers                // `each side of each marker`
	EachMarker             // `at each marker`
)

// CloseKind is how stitches are ended without binding off.
type CloseKind int

const (
	DrawThrough CloseKind = iota
	FastenOff
	Graft
)

func (*CastOn) phrase()    {}
func (*PickUp) phrase()    {}
func (*Work) phrase()      {}
func (*Shape) phrase()     {}
func (*Repeat) phrase()    {}
func (*Evenly) phrase()    {}
func (*BindOff) phrase()   {}
func (*Turn) phrase()      {}
func (*Hold) phrase()      {}
func (*Resume) phrase()    {}
func (*Divide) phrase()    {}
func (*Join) phrase()      {}
func (*Panel) phrase()     {}
func (*EndPanel) phrase()  {}
func (*Space) phrase()     {}
func (*Layout) phrase()    {}
func (*Statement) phrase() {}
func (*GaugeSaid) phrase() {}
func (*SizesSaid) phrase() {}
func (*Amount) phrase()    {}
func (*Twin) phrase()      {}
func (*Make) phrase()      {}
func (*Close) phrase()     {}
func (*NextSide) phrase()  {}
func (*Figure) phrase()    {}
func (*Spelled) phrase()   {}
