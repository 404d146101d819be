package rewrite_test

import (
	"fmt"
	"math/big"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// SYNTAX.md is the public reference of the notation. Its examples say what comes of them, and are held to it here:
//
//   - a fence marked `draft setting` is the block that every example without a block of its own stands under;
//   - a fence marked `example` holds a draft, or a part of one, and after it one or more outcomes. An outcome begins with
//     `--> ` at the start of a line, and what some of them need follows on the next lines;
//   - every code span in the first column of a table headed `phrase` is read as a marked instruction;
//   - in a table headed `word`, every spelling of the second column is put in its place in the third, and says the same;
//   - the fence marked `ebnf` is the grammar, word for word.

const (
	fewestExamples  = 160 // so that examples do not get lost with the marks that make them examples
	fewestPhrases   = 85
	fewestSpellings = 220
)

type example struct {
	line     int
	text     string
	outcomes []outcome
}

type outcome struct {
	line int
	said string // what stands after the arrow
	text string // the lines after it
}

type reference struct {
	setting  string
	grammar  string
	examples []example
	phrases  map[int][]string // by line
	words    []spellings
}

// spellings is a row of a table of words: any of them may stand for the … of the template.
type spellings struct {
	line     int
	of       []string
	template string
}

var (
	hasBlock = regexp.MustCompile("(?m)^(```|~~~) *(draft|swatch|body) *$")
	isCard   = regexp.MustCompile("(?m)^(```|~~~) *(swatch|body) *$")
)

var codeSpan = regexp.MustCompile("`` (.+?) ``|`([^`]+)`")

// readReference takes SYNTAX.md apart.
func readReference(t *testing.T) reference {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "SYNTAX.md"))
	if err != nil {
		t.Fatal(err)
	}
	r := reference{phrases: map[int][]string{}}
	fence, info := "", ""
	var body []string
	start, table := 0, ""
	for i, line := range strings.Split(string(b), "\n") {
		if fence == "" {
			if strings.HasPrefix(line, "```") || strings.HasPrefix(line, "~~~") {
				n := len(line) - len(strings.TrimLeft(line, line[:1]))
				fence, info, body, start = line[:n], strings.TrimSpace(line[n:]), nil, i+2
				continue
			}
			cells := strings.Split(strings.ReplaceAll(line, `\|`, "\x00"), "|")
			if len(cells) < 3 {
				table = ""
				continue
			}
			first := strings.TrimSpace(cells[1])
			switch {
			case strings.HasPrefix(first, "---"):
			case table == "":
				table = first
			case table == "phrase":
				r.phrases[i+1] = codeSpans(cells[1])
			case table == "word":
				row := spellings{line: i + 1, of: codeSpans(cells[2])}
				if in := codeSpans(cells[3]); len(in) == 1 {
					row.template = in[0]
				}
				r.words = append(r.words, row)
			}
			continue
		}
		if strings.TrimSpace(line) != fence {
			body = append(body, line)
			continue
		}
		text := strings.Join(body, "\n") + "\n"
		switch info {
		case "draft setting":
			r.setting += fence + "draft\n" + text + fence + "\n\n"
		case "ebnf":
			r.grammar += text
		case "example":
			r.examples = append(r.examples, readExample(start, body))
		default:
			if strings.HasPrefix(info, "example") {
				t.Errorf("SYNTAX.md:%d: a fence is marked `%s`; did you mean `example`?", start-1, info)
			}
		}
		fence = ""
	}
	if fence != "" {
		t.Fatalf("SYNTAX.md: the fence before line %d is never closed", start)
	}
	return r
}

// codeSpans is what stands between backticks in a cell of a table, where a bar was written \|.
func codeSpans(cell string) []string {
	var out []string
	for _, m := range codeSpan.FindAllStringSubmatch(cell, -1) {
		out = append(out, strings.ReplaceAll(m[1]+m[2], "\x00", "|"))
	}
	return out
}

func readExample(start int, body []string) example {
	e := example{line: start}
	var text *string = &e.text
	for i, line := range body {
		if said, ok := strings.CutPrefix(line, "--> "); ok {
			e.outcomes = append(e.outcomes, outcome{line: start + i, said: said})
			text = &e.outcomes[len(e.outcomes)-1].text
			continue
		}
		*text += line + "\n"
	}
	return e
}

// whole is a draft of its own: the example's if it has a block, else the example under the common block.
func (r *reference) whole(text string) string {
	if hasBlock.MatchString(text) {
		return text
	}
	return r.setting + text
}

// looked is what reading and checking a draft says of it; the draft is nil where there is an error.
func looked(text string) (*dsl.Draft, grammar.Diagnostics) {
	f, diags := grammar.Parse("example.md", []byte(text))
	if diags.Has(grammar.Error) {
		return nil, diags
	}
	d, more := dsl.Read(f)
	diags = append(diags, more...)
	if d != nil {
		notes, _ := rewrite.Check(d)
		diags = append(diags, notes...)
	}
	diags.Sort()
	var out grammar.Diagnostics
	for _, x := range diags {
		// An example may stop in the middle of a piece.
		if !strings.HasPrefix(x.Summary, "the draft ends with ") {
			out = append(out, x)
		}
	}
	return d, out
}

// unended leaves out what is said of work that an example does not come back to.
func unended(diags grammar.Diagnostics) grammar.Diagnostics {
	var out grammar.Diagnostics
	for _, x := range diags {
		if !strings.HasSuffix(x.Summary, " is set aside here and never taken up again") {
			out = append(out, x)
		}
	}
	return out
}

func saidOf(diags grammar.Diagnostics) string {
	var b strings.Builder
	for _, x := range diags {
		fmt.Fprintf(&b, "  --> %s: %s\n", x.Severity, x.Summary)
		if x.Detail != "" {
			fmt.Fprintf(&b, "      %s\n", x.Detail)
		}
		if x.WayOut != "" {
			fmt.Fprintf(&b, "      Try: %s\n", x.WayOut)
		}
	}
	if b.Len() == 0 {
		return "  nothing\n"
	}
	return b.String()
}

// list is one number for all sizes, or one a size in the setting's own layout.
func list(n []int64) string {
	same := true
	for _, x := range n {
		same = same && x == n[0]
	}
	if same {
		return fmt.Sprint(n[0])
	}
	var rest []string
	for _, x := range n[1:] {
		rest = append(rest, fmt.Sprint(x))
	}
	return fmt.Sprintf("%d (%s)", n[0], strings.Join(rest, ", "))
}

// leaves is what is in hand after the last instruction, and the rows that all of them took.
func leaves(d *dsl.Draft) string {
	var counts, rows []int64
	side, none := false, true
	for _, run := range d.Runs {
		v := func(q int) int64 { return d.Quantities[q].Drafted[run.Size] }
		var n int64
		for _, s := range run.Stages {
			n += s.Rows.At(v)
		}
		rows = append(rows, n)
		if len(run.Stages) == 0 {
			counts = append(counts, 0)
			continue
		}
		last := run.Stages[len(run.Stages)-1]
		counts = append(counts, last.Count.At(v))
		side, none = last.Side == 2, none && last.Side == 0
	}
	unit := " rows"
	if list(rows) == "1" {
		unit = " row"
	}
	if none {
		return "nothing in hand after " + list(rows) + unit
	}
	each := ""
	if side {
		each = " each side"
	}
	return fmt.Sprintf("%s sts%s after %s%s", list(counts), each, list(rows), unit)
}

// drawn is what a draft does, without its spelling: what is in hand after each instruction and the rows it took.
func drawn(d *dsl.Draft) string {
	var b strings.Builder
	for _, run := range d.Runs {
		v := func(q int) int64 { return d.Quantities[q].Drafted[run.Size] }
		for i, s := range run.Stages {
			fmt.Fprintf(&b, "size %d, instruction %d: %d sts, %d sides, %d rows, flat %t", run.Size+1, i+1, s.Count.At(v), s.Side, s.Rows.At(v), s.Flat)
			for _, h := range s.Upto {
				fmt.Fprintf(&b, ", %d of fabric %d in all", h.Rows.At(v), h.Fabric+1)
			}
			b.WriteByte('\n')
		}
		for _, s := range run.Schedules {
			fmt.Fprintf(&b, "size %d, schedule:", run.Size+1)
			for _, g := range s.Segments {
				fmt.Fprintf(&b, " %d times, at the first row %t;", v(g.N), g.Next)
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// conversionAsked reads what an outcome converts to: gauges and a wearer's measures, parted by semicolons.
func conversionAsked(t *testing.T, said string, d *dsl.Draft) rewrite.Request {
	t.Helper()
	r := rewrite.Request{}
	for _, part := range strings.Split(said, "; ") {
		verb, rest, _ := strings.Cut(part, " ")
		switch verb {
		case "at":
			name, g, err := grammar.ParseGauge(rest)
			if err != nil {
				t.Fatalf("`%s`: %v", rest, err)
			}
			gauge, err := dsl.ReadGauge(*g)
			if err != nil {
				t.Fatalf("`%s`: %v", rest, err)
			}
			r.Gauges = append(r.Gauges, rewrite.AskedGauge{Fabric: name, Gauge: gauge, Text: rest})
		case "size":
			r.Sizes = append(r.Sizes, rest)
		case "with":
			m, diags := grammar.ParseMeasure(rest)
			if m == nil {
				t.Fatalf("`%s`: %v", rest, diags)
			}
			x, err := d.Eval(m.Expr, d.DraftedSize(0), d.DraftedGauges())
			if err != nil {
				t.Fatalf("`%s`: %v", rest, err)
			}
			if r.Measures == nil {
				r.Measures, r.Wearer = map[string]*big.Rat{}, "Wearer"
			}
			r.Measures[m.Name.Key] = x.Const
		default:
			t.Fatalf("`%s` says no conversion", part)
		}
	}
	return r
}

func TestSyntaxReference(t *testing.T) {
	r := readReference(t)
	if r.setting == "" {
		t.Fatal("SYNTAX.md has no fence marked `draft setting`")
	}
	n := 0
	for _, e := range r.examples {
		if len(e.outcomes) == 0 {
			t.Errorf("SYNTAX.md:%d: this example says nothing of what comes of it", e.line)
			continue
		}
		for _, o := range e.outcomes {
			n++
			t.Run(fmt.Sprintf("line %d", o.line), func(t *testing.T) { r.holds(t, e, o) })
		}
	}
	if n < fewestExamples {
		t.Errorf("SYNTAX.md has %d outcomes, at least %d are looked for", n, fewestExamples)
	}
}

func (r *reference) holds(t *testing.T, e example, o outcome) {
	text := r.whole(e.text)
	if o.said == "alike" {
		r.alike(t, e.text, o)
		return
	}
	if isCard.MatchString(text) {
		// A card: it is read, or it is not.
		f, diags := grammar.Parse("card.md", []byte(text))
		if o.said == "sound" {
			if len(diags) > 0 || len(f.Blocks) == 0 {
				t.Errorf("%d blocks, and it says:\n%s", len(f.Blocks), saidOf(diags))
			}
			return
		}
		r.reports(t, o, diags)
		return
	}
	d, diags := looked(text)
	if said, ok := strings.CutPrefix(o.said, "leaves "); ok {
		if diags = unended(diags); diags.Has(grammar.Warning) {
			t.Fatalf("not sound:\n%s", saidOf(diags))
		}
		if got := leaves(d); got != said {
			t.Errorf("it leaves %s, not %s", got, said)
		}
		return
	}
	if severity, _, _ := strings.Cut(o.said, ":"); severity == "error" || severity == "fault" || severity == "warning" || severity == "note" {
		r.reports(t, o, diags)
		return
	}
	if diags.Has(grammar.Warning) {
		t.Fatalf("not sound:\n%s", saidOf(diags))
	}
	if o.said == "sound" {
		for _, x := range diags {
			t.Errorf("sound, but it says %s: %s", x.Severity, x.Summary)
		}
		return
	}
	c, diags := rewrite.Convert(d, conversionAsked(t, o.said, d))
	if c == nil {
		t.Fatalf("not converted:\n%s", saidOf(diags))
	}
	got := strings.TrimSpace(string(c.New))
	if text != e.text {
		_, got, _ = strings.Cut(got, r.setting[strings.LastIndex(r.setting, "\n```"):])
		got = strings.TrimSpace(got)
	}
	if d := cmp.Diff(strings.TrimSpace(o.text), got); d != "" {
		t.Errorf("%s it reads\n%s\n(-SYNTAX.md +converted):\n%s", o.said, got, d)
	}
}

// reports holds one diagnostic against its outcome. It must be the gravest, and the only one so grave.
func (r *reference) reports(t *testing.T, o outcome, diags grammar.Diagnostics) {
	t.Helper()
	same := 0
	for _, x := range diags {
		if o.said == fmt.Sprintf("%s: %s", x.Severity, x.Summary) {
			same++
			if diags.Has(x.Severity + 1) {
				t.Errorf("something graver is said too:\n%s", saidOf(diags))
			}
			n := 0
			for _, y := range diags {
				if y.Severity == x.Severity {
					n++
				}
			}
			if n > 1 {
				t.Errorf("one slip, but %d reports:\n%s", n, saidOf(diags))
			}
			for _, line := range strings.Split(strings.TrimSpace(o.text), "\n") {
				if try, ok := strings.CutPrefix(strings.TrimSpace(line), "Try: "); ok && try != x.WayOut {
					t.Errorf("the way out is\n  %s\nnot\n  %s", x.WayOut, try)
				}
			}
		}
	}
	if same != 1 {
		t.Errorf("not said: %s\nsaid:\n%s", o.said, saidOf(diags))
	}
}

// alike asks whether every line after the arrow does the same to the work.
func (r *reference) alike(t *testing.T, before string, o outcome) {
	var first, firstLine string
	lines := strings.Split(strings.TrimSpace(o.text), "\n")
	if len(lines) < 2 {
		t.Fatal("there is nothing to compare")
	}
	for _, line := range lines {
		d, diags := looked(r.whole(before + line + "\n"))
		if diags = unended(diags); diags.Has(grammar.Warning) {
			t.Errorf("%s\nis not sound:\n%s", line, saidOf(diags))
			continue
		}
		if got := drawn(d); first == "" {
			first, firstLine = got, line
		} else if diff := cmp.Diff(first, got); diff != "" {
			t.Errorf("%s\n%s\nare not alike:\n%s", firstLine, line, diff)
		}
	}
}

// TestSyntaxPhrases reads every phrase of the tables as a marked instruction.
func TestSyntaxPhrases(t *testing.T) {
	r := readReference(t)
	n := 0
	for line, phrases := range r.phrases {
		for _, p := range phrases {
			n++
			r.mark(t, line, p)
		}
	}
	if n < fewestPhrases {
		t.Errorf("the tables of SYNTAX.md hold %d phrases, at least %d are looked for", n, fewestPhrases)
	}
}

// mark reads one phrase as a marked instruction, in a draft that has some names.
func (r *reference) mark(t *testing.T, line int, phrase string) *grammar.Mark {
	t.Helper()
	known := ""
	for _, name := range []string{"back", "front", "left front", "left sleeve", "left shoulder", "right shoulder", "underarm", "flap", "decrease row"} {
		known += "{1 st | as " + name + "} "
	}
	f, diags := grammar.Parse("phrase.md", []byte(r.setting+known+"{"+phrase+"}\n"))
	if diags.Has(grammar.Error) || len(f.Marks) != strings.Count(known, "{")+1 {
		t.Errorf("SYNTAX.md:%d: `%s` is not one instruction:\n%s", line, phrase, saidOf(diags))
		return nil
	}
	return f.Marks[len(f.Marks)-1]
}

// TestSyntaxWords puts every spelling of the tables of words in its place, and asks whether all of a row say the same.
func TestSyntaxWords(t *testing.T) {
	r := readReference(t)
	n := 0
	for _, row := range r.words {
		if len(row.of) < 2 || strings.Count(row.template, "…") != 1 {
			t.Errorf("SYNTAX.md:%d: a row of words has two spellings or more, and one place for them", row.line)
			continue
		}
		first := ""
		for _, word := range row.of {
			n++
			phrase := strings.Replace(row.template, "…", word, 1)
			m := r.mark(t, row.line, phrase)
			if m == nil {
				continue
			}
			said := fmt.Sprintf("%T ending %d, same row %t, spelled out %t\n", m.Phrase, m.Ending, m.SameRow, m.SpelledOut) + meant(reflect.ValueOf(m.Phrase))
			if first == "" {
				first = said
			} else if d := cmp.Diff(first, said); d != "" {
				t.Errorf("SYNTAX.md:%d: `%s` does not say the same as `%s`:\n%s", row.line, phrase, row.of[0], d)
			}
		}
	}
	if n < fewestSpellings {
		t.Errorf("the tables of SYNTAX.md hold %d spellings, at least %d are looked for", n, fewestSpellings)
	}
}

// meant is a part of a phrase without its places and its spelling.
func meant(v reflect.Value) string {
	switch x := v.Interface().(type) {
	case grammar.Span, grammar.ListStyle:
		return ""
	case grammar.Word:
		return x.Key
	case grammar.Num:
		return x.Val.RatString()
	}
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		if v.IsNil() {
			return "none"
		}
		return meant(v.Elem())
	case reflect.Struct:
		var b strings.Builder
		for i := range v.NumField() {
			if s := meant(v.Field(i)); s != "" {
				fmt.Fprintf(&b, "%s: %s\n", v.Type().Field(i).Name, s)
			}
		}
		return b.String()
	case reflect.Slice:
		var b strings.Builder
		for i := range v.Len() {
			b.WriteString(meant(v.Index(i)) + ";")
		}
		return b.String()
	}
	return fmt.Sprint(v.Interface())
}

// TestSyntaxGrammar holds the grammar quoted in SYNTAX.md against the one that is read by.
func TestSyntaxGrammar(t *testing.T) {
	if d := cmp.Diff(grammar.Grammar(), readReference(t).grammar); d != "" {
		t.Errorf("the grammar in SYNTAX.md is not the one that is read by (-read by +quoted):\n%s", d)
	}
}

// TestSyntaxLimits holds each row of the table of limits against what is read: what reaches the limit passes, and one more does
// not.
func TestSyntaxLimits(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "SYNTAX.md"))
	if err != nil {
		t.Fatal(err)
	}
	block := func(lines string) string {
		return "```draft\nfabric main: 20 sts and 28 rows to 10 cm\n" + lines + "```\n\n"
	}
	sizes := func(n int) string {
		var names []string
		for i := range n {
			names = append(names, fmt.Sprint("A", i+1))
		}
		return block("sizes: " + names[0] + " (" + strings.Join(names[1:], ", ") + ")\n")
	}
	const piece = "{Cast on 40 sts}. {Bind off all sts}.\n"
	for _, limit := range []struct {
		row      string
		at, past string
	}{
		{"| a file | 10 MB |", block("") + piece + strings.Repeat(strings.Repeat("yarn ", 20)+"\n\n", 1000), strings.Repeat("y", 10<<20+1)},
		{"| a marked instruction | 4 KB between its braces; one draft has 4,000 at most |", block("") + "{Cast on 40 sts" + strings.Repeat(" ", 4000) + "}. {Bind off all sts}.",
			block("") + "{Cast on 40 sts" + strings.Repeat(" ", 4100) + "}. {Bind off all sts}."},
		{"; one draft has 4,000 at most |", block("") + "{Cast on 40 sts}\n" + strings.Repeat("{40 sts}\n\n", 3_998) + "{bind off all sts}\n",
			block("") + "{Cast on 40 sts}\n" + strings.Repeat("{40 sts}\n\n", 3_999) + "{bind off all sts}\n"},
		{"| a statement of a block | 4 KB |", block("long = 20 cm"+strings.Repeat(" + 0 cm", 580)+"\n") + piece, block("long = 20 cm"+strings.Repeat(" + 0 cm", 590)+"\n") + piece},
		{"| brackets, links and runs of backticks in one paragraph | 1,000 of a kind |", block("") + piece + "\n" + strings.Repeat("[ ", grammar.MaxParagraph) + "\n", block("") + piece + "\n" + strings.Repeat("[ ", grammar.MaxParagraph+1) + "\n"},
		{"| brackets in one another | 40 |", block("width = "+strings.Repeat("(", 40)+"20 cm"+strings.Repeat(")", 40)+"\n") + piece,
			block("width = "+strings.Repeat("(", 41)+"20 cm"+strings.Repeat(")", 41)+"\n") + piece},
		{"| lists and quotations nested | 40 |", block("") + piece + strings.Repeat("> ", 40) + "so\n", block("") + piece + strings.Repeat("> ", 41) + "so\n"},
		{"| a number | 12 digits |", block("long = 000000000020 cm\n") + piece, block("long = 0000000000020 cm\n") + piece},
		{"| a count | 100,000 stitches or rows |", block("") + "{Cast on 100000 sts}. {Bind off all sts}.", block("") + "{Cast on 100001 sts}. {Bind off all sts}."},
		{"| a length | 1 km |", block("long = 100000 cm\n") + piece, block("long = 100001 cm\n") + piece},
		{"| sizes | 60 |", sizes(60) + piece, sizes(61) + piece},
		{"| a gauge | 0.1 to 400 stitches or rows to 10 cm |", block("fabric silk: 400 sts and 0.1 rows to 10 cm\n") + piece, block("fabric silk: 401 sts and 28 rows to 10 cm\n") + piece},
		{"| a gauge | 0.1 to 400 stitches or rows to 10 cm |", block("fabric rope: 0.1 sts and 400 rows to 10 cm\n") + piece, block("fabric rope: 0.09 sts and 28 rows to 10 cm\n") + piece},
		{"| a multiple | of 1 to 10,000 |", block("") + "{Cast on 10000 sts | multiple of 10000}. {Bind off all sts}.", block("") + "{Cast on 10001 sts | multiple of 10001}. {Bind off all sts}."},
	} {
		if !strings.Contains(string(b), limit.row) {
			t.Errorf("SYNTAX.md does not say: %s", limit.row)
		}
		if _, diags := looked(limit.at); diags.Has(grammar.Warning) {
			t.Errorf("%s\nyet what reaches it is refused:\n%s", limit.row, saidOf(diags))
		}
		if _, diags := looked(limit.past); !diags.Has(grammar.Error) {
			t.Errorf("%s\nyet what passes it is read", limit.row)
		}
	}
}
