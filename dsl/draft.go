// Package dsl is the MEANING of a draft: units, sizes, names and pieces. It reads a grammar.File into a Draft, whose
// numbers are quantities with types and ties, and works each piece of it row by row, once a size, into relations that
// hold between those quantities.
package dsl

import (
	"fmt"
	"math/big"
	"sort"
	"strings"
	"sync"

	"gaugewright/grammar"
)

// Limits beyond which a figure is refused as a slip of the pen rather than worked with.
const (
	MaxCount = 100_000 // stitches or rows in one number
	maxGauge = 400     // stitches or rows to 10 cm: finer than any hand-knitted cloth
	maxCm    = 100_000 // a length, in centimetres
	maxMarks = 4_000   // marked instructions in one draft
	maxSizes = 60
)

// Gauge is the stitches and rows to one centimetre of finished cloth, exact.
type Gauge struct{ Stitches, Rows *big.Rat }

// Same says whether two gauges are the same cloth.
func (g Gauge) Same(h Gauge) bool { return g.Stitches.Cmp(h.Stitches) == 0 && g.Rows.Cmp(h.Rows) == 0 }

// Fabric is one cloth of the draft with the gauge it was drafted at.
type Fabric struct {
	Name     string
	Gauge    Gauge
	Unwashed *Gauge
	Rounds   bool // its gauge counts rounds
	Of       int  // its own index; of one in a place apart, that of the fabric it stands for, see [Draft.Apart]
	Def      *grammar.FabricDef
}

// Kind is what a quantity or an expression counts.
type Kind int

const (
	Plain Kind = iota
	Stitches
	Rows
	Length
	Times // how often something is done
	Yarn  // grams, metres, balls
)

func (k Kind) String() string {
	return [...]string{"a plain number", "stitches", "rows", "a length", "times", "an amount of yarn"}[k]
}

// Measure is a named expression of the draft block.
type Measure struct {
	Name grammar.Word
	Expr grammar.Expr
	Def  *grammar.MeasureDef
	Kind Kind // Length or Plain
}

// Quantity is one number that the conversion may change: a number of a marked instruction, one value a size, or a
// hidden one (Value nil) such as the rows a schedule takes.
type Quantity struct {
	ID      int
	Mark    int // index in File.Marks
	Value   *grammar.Value
	Kind    Kind
	Role    string  // in the trade's words: "cast on", "times", "rows of the schedule"
	Drafted []int64 // a size; for hidden ones set as the draft is worked. Lengths have none: see Draft.Stated
	Least   int64   // it may not go below this
	Shared  bool    // not an unknown: shared out once the unknowns are known (times of a straight schedule, layouts)
	Fixed   bool
	Tied    bool // the ties of the mark stand on this number
	Name    string
	Tie     *Form // what the tie says it should be, nil without one
	TieAt   grammar.Span
	Of      []grammar.TieMultiple
	Rounded int // +1 up, -1 down
}

// Hidden says whether the quantity is not a number of the text.
func (q *Quantity) Hidden() bool { return q.Value == nil }

// thing is what a name stands for.
type thing struct {
	what    string // "measure", "fabric", "number", "held work"
	span    grammar.Span
	measure int
	fabric  int
	number  int // quantity, -1 where the mark has none
	mark    int
}

// hiddenKey is a mark and the tag of one of its hidden quantities.
type hiddenKey struct {
	mark int
	tag  string
}

// Draft is a draft that could be read.
type Draft struct {
	File       *grammar.File
	Block      *grammar.Block
	Fabrics    []Fabric
	Sizes      []string
	Measures   []Measure
	SizedBy    int // index in Measures, -1 where there are none
	Quantities []*Quantity
	Runs       []*Run // one a size
	byValue    map[*grammar.Value]int
	hidden     map[hiddenKey]int
	names      map[string]thing
	ofMark     [][]int // the quantities of each mark, in the order they were made
	diags      grammar.Diagnostics
	faults     map[string]*fault
	order      []string
	phrases    []string // the text of each mark, once it was asked for
	gauges     []Gauge
	places     []place
	worked     bool            // it has all its fabrics, see Apart
	measured   []map[int]*Form // what the measures come to at the drafted gauges, a size; all known once the draft is read
	kept       Kept            // see Keep
}

// Keep is what make makes, see [Kept.Keep], so that converting one draft many times works out once what hangs on the draft alone.
func (d *Draft) Keep(key any, make func() any) any { return d.kept.Keep(key, make) }

// Kept is what was worked out from something that does not change any more. The zero value is empty.
type Kept struct{ m sync.Map }

// Keep is what make makes, made when it is first asked for and kept under a key of the caller's own type. What is kept must never
// be changed. Keep may be called from several goroutines at once.
func (k *Kept) Keep(key any, make func() any) any {
	v, ok := k.m.Load(key)
	if !ok {
		v, _ = k.m.LoadOrStore(key, sync.OnceValue(make))
	}
	return v.(func() any)()
}

// Read gives the draft its meaning. With an error among the diagnostics the draft is nil. Faults (sums that do not
// follow), warnings and notes come with a draft.
func Read(f *grammar.File) (*Draft, grammar.Diagnostics) {
	d := &Draft{File: f, byValue: map[*grammar.Value]int{}, hidden: map[hiddenKey]int{}, names: map[string]thing{}, faults: map[string]*fault{}, SizedBy: -1}
	d.readBlock()
	if d.diags.Has(grammar.Error) {
		return nil, d.diags
	}
	d.declare()
	if d.diags.Has(grammar.Error) {
		return nil, d.diags
	}
	d.resolveTies()
	if d.diags.Has(grammar.Error) {
		d.diags.Sort()
		return nil, d.diags
	}
	d.work()
	if d.diags.Has(grammar.Error) {
		// Behind something that cannot be worked, sums say nothing true.
		var only grammar.Diagnostics
		for _, x := range d.diags {
			if x.Severity == grammar.Error {
				only = append(only, x)
			}
		}
		only.Sort()
		return nil, only
	}
	d.diags.Sort()
	return d, d.diags
}

func (d *Draft) say(sev grammar.Severity, at grammar.Span, summary, wayOut string, related ...grammar.Related) {
	d.diags = append(d.diags, grammar.Diagnostic{Severity: sev, Span: at, Summary: summary, WayOut: wayOut, Related: related})
}

func (d *Draft) errorf(at grammar.Span, wayOut, format string, args ...any) {
	d.say(grammar.Error, at, fmt.Sprintf(format, args...), wayOut)
}

func (d *Draft) readBlock() {
	for _, b := range d.File.Blocks {
		if b.Kind != grammar.DraftBlock {
			continue
		}
		if d.Block != nil {
			d.say(grammar.Error, b.Span, "a second draft block", "put all fabrics, sizes and measures in one block", grammar.Related{Span: d.Block.Span, Text: "the first one is here"})
			return
		}
		d.Block = b
	}
	if d.Block == nil {
		d.errorf(grammar.Span{}, "begin it with a fenced block marked draft that gives at least one fabric: `fabric main: 20 sts and 28 rows to 10 cm`", "this file has no draft block")
		return
	}
	b := d.Block
	d.Sizes = []string{""}
	if b.Sizes != nil {
		d.Sizes = nil
		seen := map[string]grammar.Span{}
		for _, w := range b.Sizes.Names {
			if at, dup := seen[w.Key]; dup {
				d.say(grammar.Error, w.Span, fmt.Sprintf("size %s is listed twice", w.Text), "give each size a name of its own", grammar.Related{Span: at, Text: "first here"})
			}
			seen[w.Key] = w.Span
			d.Sizes = append(d.Sizes, w.Text)
		}
		if len(d.Sizes) > maxSizes {
			d.errorf(b.Sizes.Span, "", "%d sizes are more than the %d this tool works with", len(d.Sizes), maxSizes)
		}
	}
	for _, def := range b.Fabrics {
		if !d.name(def.Name, thing{what: "fabric", span: def.Name.Span, fabric: len(d.Fabrics)}) {
			continue
		}
		g, ok := d.gauge(def.Gauge)
		if !ok {
			continue
		}
		fb := Fabric{Name: def.Name.Text, Gauge: g, Rounds: def.Gauge.Rounds, Of: len(d.Fabrics), Def: def}
		if def.Unwashed != nil {
			if u, ok := d.gauge(*def.Unwashed); ok {
				fb.Unwashed = &u
			}
		}
		d.Fabrics = append(d.Fabrics, fb)
	}
	if len(d.Fabrics) == 0 && !d.diags.Has(grammar.Error) {
		d.errorf(b.Span, "add one: `fabric main: 20 sts and 28 rows to 10 cm`", "the draft block names no fabric, so no count can be turned into a length")
	}
	for _, m := range b.Measures {
		if d.name(m.Name, thing{what: "measure", span: m.Name.Span, measure: len(d.Measures)}) {
			d.Measures = append(d.Measures, Measure{Name: m.Name, Expr: m.Expr, Def: m})
		}
	}
	if d.diags.Has(grammar.Error) {
		return
	}
	for i := range d.Measures {
		d.kindOfMeasure(i)
	}
	if len(d.Measures) > 0 {
		d.SizedBy = 0
	}
	if b.SizedBy != nil {
		t, ok := d.names[b.SizedBy.Key]
		if !ok || t.what != "measure" {
			d.errorf(b.SizedBy.Span, d.knownWayOut(b.SizedBy.Key, "measure"), "%s is no measure of this draft", b.SizedBy.Text)
			return
		}
		d.SizedBy = t.measure
	}
	if d.diags.Has(grammar.Error) {
		return
	}
	// Every measure has a value at every size, so that a zero divisor or an absurd length is told here, once.
	for i, m := range d.Measures {
		for s := range d.Sizes {
			if _, err := d.MeasureAt(i, d.DraftedSize(s), d.DraftedGauges()); err != nil {
				d.errorf(m.Def.Span, "", "%s = … has no value: %s", m.Name.Text, err)
				break
			}
		}
	}
}

// ReadGauge turns a gauge as written into stitches and rows to a centimetre. Rows are nil where they were not given.
func ReadGauge(t grammar.GaugeText) (Gauge, error) {
	over, err := cm(t.Over, 0)
	if err != nil {
		return Gauge{}, err
	}
	if over.Sign() <= 0 {
		return Gauge{}, fmt.Errorf("a gauge over a width of zero says nothing")
	}
	one := func(v *grammar.Value, what string) (*big.Rat, error) {
		if v == nil {
			return nil, nil
		}
		if len(v.Nums) != 1 {
			return nil, fmt.Errorf("a gauge has one number of %s, not one a size", what)
		}
		n := v.Nums[0].Val
		if v.Unit == grammar.Ridges {
			n = new(big.Rat).Mul(n, big.NewRat(2, 1))
		}
		if n.Sign() <= 0 {
			return nil, fmt.Errorf("a gauge of %s %s is no cloth", v.Nums[0].Text, what)
		}
		g := new(big.Rat).Quo(n, over)
		if g.Cmp(big.NewRat(maxGauge, 10)) > 0 {
			return nil, fmt.Errorf("%s %s over that width are finer than any hand-knitted cloth: at most %d to 10 cm are read", v.Nums[0].Text, what, maxGauge)
		}
		if g.Cmp(big.NewRat(1, 100)) < 0 {
			return nil, fmt.Errorf("%s %s over that width are coarser than any hand-knitted cloth", v.Nums[0].Text, what)
		}
		return g, nil
	}
	st, err := one(t.Stitches, "stitches")
	if err != nil {
		return Gauge{}, err
	}
	rows, err := one(t.Rows, "rows")
	if err != nil {
		return Gauge{}, err
	}
	return Gauge{st, rows}, nil
}

func (d *Draft) gauge(t grammar.GaugeText) (Gauge, bool) {
	g, err := ReadGauge(t)
	if err == nil && (g.Stitches == nil || g.Rows == nil) {
		err = fmt.Errorf("a fabric needs both its stitches and its rows")
	}
	if err != nil {
		d.errorf(t.Span, "write it like `20 sts and 28 rows to 10 cm`", "%s", err)
		return g, false
	}
	return g, true
}

// name enters a name; a second use is an error that shows both places.
func (d *Draft) name(w grammar.Word, t thing) bool {
	if was, taken := d.names[w.Key]; taken {
		d.say(grammar.Error, w.Span, fmt.Sprintf("the name %s is used twice", w.Text), "give one of them another name",
			grammar.Related{Span: was.span, Text: "it is already the name of a " + was.what + " here"})
		return false
	}
	d.names[w.Key] = t
	return true
}

// known lists the names of one kind, or of all kinds.
func (d *Draft) known(what string) []string {
	var out []string
	for k, t := range d.names {
		if what == "" || t.what == what {
			out = append(out, k)
		}
	}
	sort.Strings(out)
	return out
}

func (d *Draft) knownWayOut(near, what string) string {
	names := d.known(what)
	if len(names) == 0 {
		return "the draft has no " + what
	}
	if best := grammar.Nearest(near, names); best != "" {
		return "did you mean " + best + "?"
	}
	way := "one of " + strings.Join(names, ", ")
	switch what {
	case "fabric":
		way += "; or add `fabric " + near + ": … sts and … rows to 10 cm` to the draft block"
	case "":
		way += "; or give it a value in the draft block"
	}
	return way
}

// SizeNames is the sizes for a sentence: "in S and M".
func (d *Draft) sizeNames(sizes []int) string {
	if len(sizes) == len(d.Sizes) {
		return ""
	}
	var n []string
	for _, s := range sizes {
		n = append(n, d.Sizes[s])
	}
	return " in " + andList(n)
}

func andList(n []string) string {
	switch len(n) {
	case 0:
		return ""
	case 1:
		return n[0]
	}
	return strings.Join(n[:len(n)-1], ", ") + " and " + n[len(n)-1]
}
