package render

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"math/big"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// Publication is one pattern at several gauges, the draft's own among them. Gauges stand from the loosest to the tightest,
// whatever the order they were asked for in.
type Publication struct {
	drafted  *rewrite.Conversion
	sizes    []string // as they head a column
	editions []edition
	made     time.Time
	o        Options
}

// edition is a gauge of a publication.
type edition struct {
	*rewrite.Edition
	label, more string      // as it is offered, and what else there is to know of it
	key         string      // a short name for addresses; that of its folder, where it has one
	target      []int       // a size of the publication → its place in the edition, -1 where it does not work
	gives       [][]measure // what each size of the publication gives
}

// measure is something that a size gives.
type measure struct {
	*rewrite.Got
	name  string   // in words: a minus as a minus, and no place in the draft, which a reader of the pattern does not have
	off   string   // how far it is from what is wanted, with its sign: `−1.3`
	share *big.Rat // the same as a share of what counts as close
}

// far says whether a miss is more than counts as close.
func (m *measure) far() bool { return m.share.Cmp(allowed) > 0 }

var allowed = big.NewRat(1, 1)

// works says whether any size does: only then there are pages.
func (e *edition) works() bool { return e.Conversion != nil }

// Published puts the editions of a draft together. drafted is the one at the draft's own gauge; any other at that gauge is left
// out, being the same pattern. made is the day it is dated with, the zero time for none.
func Published(drafted *rewrite.Edition, others []*rewrite.Edition, made time.Time, o Options) *Publication {
	p := &Publication{drafted: drafted.Conversion, sizes: sizeNames(drafted.Conversion), made: made, o: o}
	taken := map[string]bool{}
	for _, e := range append([]*rewrite.Edition{drafted}, others...) {
		if e == drafted || e.Conversion == nil || !e.AsDrafted() {
			p.editions = append(p.editions, p.edition(e, taken))
		}
	}
	slices.SortStableFunc(p.editions, func(a, b edition) int {
		return cmp.Or(a.At[0].To.Stitches.Cmp(b.At[0].To.Stitches), a.At[0].To.Rows.Cmp(b.At[0].To.Rows))
	})
	return p
}

// edition adds to an edition what its pages are called and what its sizes give. Keys that are taken are given a number.
func (p *Publication) edition(e *rewrite.Edition, taken map[string]bool) edition {
	x := edition{Edition: e, target: make([]int, len(p.sizes)), gives: make([][]measure, len(p.sizes))}
	x.label, x.more = labels(e)
	name := keyOf(e, x.label)
	x.key = name
	for n := 2; taken[x.key]; n++ {
		x.key = name + "-" + strconv.Itoa(n)
	}
	taken[x.key] = true
	for s, size := range p.sizes {
		x.target[s] = -1
		if e.Conversion == nil {
			continue
		}
		if t := slices.Index(sizeNames(e.Conversion), size); t >= 0 {
			x.target[s] = t
			gives := e.Gives(t)
			for i := range gives {
				x.gives[s] = append(x.gives[s], p.measure(&gives[i]))
			}
		}
	}
	return x
}

// Output is one file of several, with its path from the folder they are in, of slashes.
type Output struct {
	Path string
	Text []byte
}

// Files is the publication as a folder: for each gauge a folder with the page and the copy to knit from, index.html to choose
// from, problems.json, measures.html where the draft asks for any, and where it names counts, counts.html and counts.csv.
func (p *Publication) Files() ([]Output, error) {
	problems, err := p.Problems()
	if err != nil {
		return nil, err
	}
	out := []Output{{"index.html", p.Index()}, {"problems.json", problems}}
	if page := p.CountsPage(); page != nil {
		out = append(out, Output{"counts.html", page}, Output{"counts.csv", p.Counts()})
	}
	if page := p.MeasuresPage(); page != nil {
		out = append(out, Output{"measures.html", page})
	}
	o := p.o
	o.Index = "../index.html"
	for _, e := range p.editions {
		if !e.works() {
			continue
		}
		page, err := Page(e.Conversion, o)
		if err != nil {
			return nil, err
		}
		out = append(out, Output{e.key + "/pattern.html", page}, Output{e.key + "/pattern.md", ReadingCopy(e.Conversion, p.o)})
	}
	return out, nil
}

// keyOf is a short name for addresses that says the gauge, and stays the same whatever other gauges there are: `18-sts-25-rows`,
// with the width where it is not the one of the draft. A gauge with a name of its own has that.
func keyOf(e *rewrite.Edition, label string) string {
	if name := slug(e.Name); name != "" {
		return name
	}
	said := strings.TrimSuffix(label, overText(e.At[0]))
	for i, a := range e.Asked.Gauges {
		if i > 0 {
			said += " " + a.Fabric + " " + strings.TrimSuffix(a.Text, overText(e.At[0]))
		}
	}
	return slug(strings.ReplaceAll(said, " and ", " "))
}

// slug is a text as part of an address: letters in lower case, digits and points between them, all else as a hyphen.
func slug(s string) string {
	var b strings.Builder
	gap := false
	for _, r := range strings.ToLower(s) {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '.' {
			gap = true
			continue
		}
		if gap && b.Len() > 0 {
			b.WriteByte('-')
		}
		gap = false
		b.WriteRune(r)
	}
	return strings.Trim(b.String(), ".-")
}

// labels are a gauge as it is offered, and what else there is to know of it: what it is over the width of the draft, the rows
// where they were not given, gauges of other fabrics.
func labels(e *rewrite.Edition) (label, more string) {
	main := gaugeText(e.At[0], true)
	label = main
	var also []string
	for i, a := range e.Asked.Gauges {
		switch {
		case a.Swatch != nil:
		case i > 0:
			also = append(also, a.Fabric+": "+a.Text)
		case !strings.HasSuffix(a.Text, overText(e.At[0])):
			label = a.Text
			also = append(also, "that is "+main)
		case a.Gauge.Rows == nil:
			also = append(also, "rows as the draft has them to its stitches")
		}
	}
	if e.Name != "" {
		label = e.Name
		also = append([]string{main}, also...)
	}
	return label, strings.Join(also, "; ")
}

// overText is the width a fabric's gauge is stated over, as it ends the gauge: ` to 10 cm`.
func overText(g rewrite.GaugeChange) string {
	text := gaugeText(g, false)
	return text[strings.LastIndex(text, " to "):]
}

// address is where a file of an edition is, from the index.
func (e *edition) address(file, fragment string) string {
	return (&url.URL{Path: e.key + "/" + file, Fragment: fragment}).String()
}

// own is the edition at the draft's own gauge.
func (p *Publication) own() *edition {
	for i := range p.editions {
		if p.isOwn(&p.editions[i]) {
			return &p.editions[i]
		}
	}
	return nil
}

func (p *Publication) isOwn(e *edition) bool { return e.Conversion == p.drafted }

// measure is something that a size gives, with what an index says of it.
func (p *Publication) measure(g *rewrite.Got) measure {
	m := measure{Got: g}
	m.name = strings.ReplaceAll(g.Name, " - ", " − ")
	off := g.Miss()
	sign := off.Sign()
	off.Abs(off)
	first, _ := p.o.shown(g.Unit)
	switch m.off = inColumn(off, first); {
	case strings.Trim(m.off, "0.") == "":
		m.off = "0"
	case sign < 0:
		m.off = "−" + m.off
	default:
		m.off = "+" + m.off
	}
	m.share = g.Off()
	m.share.Quo(m.share.Abs(m.share), rewrite.Allowed(g.Wanted))
	return m
}

// got is one measure of what a size gives, or nil.
func (e *edition) got(size int, name string) *measure {
	for i := range e.gives[size] {
		if e.gives[size][i].Name == name {
			return &e.gives[size][i]
		}
	}
	return nil
}

// length is a length in the reader's units to a tenth: `80.7`, with its unit `80.7 cm`.
func (p *Publication) length(cm *big.Rat, drafted grammar.Unit, named bool) string {
	first, second := p.o.shown(drafted)
	in := func(u grammar.Unit) string {
		if named {
			return inColumn(cm, u) + " " + unitName(u)
		}
		return inColumn(cm, u)
	}
	if second == grammar.NoUnit {
		return in(first)
	}
	return in(first) + " [" + in(second) + "]"
}

// unitOf is the unit of such lengths, for the head of their row.
func (p *Publication) unitOf(drafted grammar.Unit) string {
	first, second := p.o.shown(drafted)
	if second == grammar.NoUnit {
		return unitName(first)
	}
	return unitName(first) + " [" + unitName(second) + "]"
}

// inColumn is a length to a tenth of its unit, or to a millimetre, as a column needs it.
func inColumn(cm *big.Rat, u grammar.Unit) string {
	num, den := centimetresTo(u)
	places := 1
	if u == grammar.Millimetres {
		places = 0
	}
	text := decimals(new(big.Rat).Mul(cm, big.NewRat(den, num)), places)
	if places > 0 && !strings.Contains(text, ".") {
		text += ".0"
	}
	return text
}

// atGauge heads what is said of a gauge, or of one size there.
func atGauge(label, size string) string {
	if size == "" {
		return label
	}
	return label + ", size " + size
}

// failureText is why a size does not work, as plain text for whoever has the draft.
func failureText(f *grammar.File, x *rewrite.Failure) string {
	text := asSentence(x.Summary, len(x.Related) > 0)
	for _, r := range x.Related {
		line, _ := f.Position(r.Span.Start)
		text += "\n- " + relatedText(f, r) + " (line " + strconv.Itoa(line) + ")"
	}
	if x.WayOut != "" {
		text += "\n" + asSentence(x.WayOut, false)
	}
	return text
}

// relatedText is one of the things that contradict each other, with the instruction it is about.
func relatedText(f *grammar.File, r grammar.Related) string {
	text := fold(f.Text(r.Span))
	if text == "" || strings.Contains(r.Text, text) {
		return r.Text
	}
	return r.Text + ": `" + text + "`"
}

// asSentence is a summary as a sentence, or as one that a list follows.
func asSentence(s string, list bool) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
	if list {
		return string(r) + ":"
	}
	return string(r) + "."
}

func fold(s string) string { return strings.Join(strings.Fields(s), " ") }

// count is one of the numbers that the author named, at one gauge: one value a size of the publication, nil where it does not work.
type count struct {
	name, piece, kind string
	at                [][]*big.Rat // one list an edition
}

// counts are the stitches, rows and times the author named, in the order of the draft.
func (p *Publication) counts() []count {
	var out []count
	for i := range p.drafted.Numbers {
		n := &p.drafted.Numbers[i]
		if n.Name == "" || n.Kind == dsl.Length || n.Kind == dsl.Yarn {
			continue
		}
		c := count{name: n.Name, piece: n.Piece, kind: kindName(n)}
		if c.piece == title(p.drafted.Draft.File) {
			c.piece = "" // it stands before the first piece
		}
		for k := range p.editions {
			e := &p.editions[k]
			values := make([]*big.Rat, len(p.sizes))
			for s, t := range e.target {
				if t >= 0 {
					values[s] = e.Numbers[i].To[t]
				}
			}
			c.at = append(c.at, values)
		}
		out = append(out, c)
	}
	return out
}

// Counts is the table of the named counts for a spreadsheet, as comma-separated values (RFC 4180): a line for each count and
// gauge, with a column a size, empty where a size does not work.
func (p *Publication) Counts() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	line := func(fields []string) { _ = w.Write(fields) } // a buffer takes everything
	line(append([]string{"count", "of", "piece", "gauge"}, p.sizes...))
	for _, c := range p.counts() {
		for i := range p.editions {
			fields := []string{c.name, c.kind, c.piece, p.editions[i].label}
			for _, v := range c.at[i] {
				text := ""
				if v != nil {
					text = decimal(v)
				}
				fields = append(fields, text)
			}
			line(fields)
		}
	}
	w.Flush()
	return b.Bytes()
}

// anchor is what opens the page of an edition with a size chosen.
func (e *edition) anchor(size int) string {
	if ids := SizeAnchors(e.Conversion); ids != nil && e.target[size] >= 0 {
		return ids[e.target[size]]
	}
	return ""
}

// feed is a JSON Feed, version 1.1 (https://www.jsonfeed.org/version/1.1/).
type feed struct {
	Version     string     `json:"version"`
	Title       string     `json:"title"`
	Description string     `json:"description"`
	Language    string     `json:"language"`
	Items       []feedItem `json:"items"`
}

type feedItem struct {
	ID       string   `json:"id"`
	Title    string   `json:"title"`
	Text     string   `json:"content_text"`
	Modified string   `json:"date_modified,omitempty"`
	Tags     []string `json:"tags"`
	Problem  problem  `json:"_problem"`
}

// problem is what the feed's own extension holds: the same for a program.
type problem struct {
	Version int           `json:"version"`
	Gauge   string        `json:"gauge"`
	Size    string        `json:"size,omitempty"`
	Draft   string        `json:"draft"`
	Line    int           `json:"line"`
	Column  int           `json:"column"`
	Summary string        `json:"summary"`
	Related []relatedData `json:"related,omitempty"`
	WayOut  string        `json:"way_out,omitempty"`
}

// Problems is the gauges and sizes at which the pattern does not work as a JSON Feed 1.1, an item for each: a feed that is
// without dates where none is known, which no other may be. _problem has the same for a program: line and column are those of
// the instruction, as in ChangesJSON.
func (p *Publication) Problems() ([]byte, error) {
	f := p.drafted.Draft.File
	out := feed{Version: "https://jsonfeed.org/version/1.1", Title: "Where " + title(f) + " does not work",
		Description: "Gauges and sizes for which the pattern's instructions contradict each other.", Language: "en", Items: []feedItem{}}
	for i := range p.editions {
		e := &p.editions[i]
		for _, x := range e.Failures {
			line, column := f.Position(x.Span.Start)
			item := feedItem{ID: slug(e.key + " " + x.Size), Title: atGauge(e.label, x.Size), Text: failureText(f, &x), Tags: []string{"does not work"},
				Problem: problem{version, e.label, x.Size, baseName(f.Name), line, column, x.Summary, nil, x.WayOut}}
			for _, r := range x.Related {
				line, column := f.Position(r.Span.Start)
				item.Problem.Related = append(item.Problem.Related, relatedData{line, column, r.Text})
			}
			if !p.made.IsZero() {
				item.Modified = p.made.UTC().Format(time.RFC3339)
			}
			out.Items = append(out.Items, item)
		}
	}
	return marshal(out)
}

// Failures is where the pattern does not work as diagnostics of the draft, each with its gauge and size.
func (p *Publication) Failures() grammar.Diagnostics {
	var out grammar.Diagnostics
	for i := range p.editions {
		e := &p.editions[i]
		for _, x := range e.Failures {
			d := x.Diagnostic
			d.Severity = grammar.Fault
			d.Summary = atGauge(e.label, x.Size) + ": " + d.Summary
			out = append(out, d)
		}
	}
	return out
}

// Notes are the cautions and warnings of all editions, each once, with the gauges it is about where those are not all.
func (p *Publication) Notes() []string {
	var texts []string
	at := map[string][]string{}
	works, own := 0, p.own().label
	for i := range p.editions {
		e := &p.editions[i]
		if !e.works() {
			continue
		}
		works++
		cautions, _, warnings := notes(e.Conversion)
		for _, text := range append(slices.Clone(cautions), warnings...) {
			if at[text] == nil {
				texts = append(texts, text)
			}
			at[text] = append(at[text], e.label)
		}
	}
	for i, text := range texts {
		switch n := len(at[text]); {
		case n == works:
		case n == works-1 && n > 1 && !slices.Contains(at[text], own):
			texts[i] = "at every gauge but the draft's own: " + text
		default:
			texts[i] = "at " + strings.Join(at[text], ", ") + ": " + text
		}
	}
	return texts
}
