package render

import (
	"bytes"
	"encoding/json"
	"math/big"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

func TestChangesJSONIsTheContract(t *testing.T) {
	src := "# A\n\nWith {cast on 98 (106, 114) sts | w} and {38 cm} é {3 times}.\n"
	f := &grammar.File{Name: `drafts\winter/pullover.md`, Src: []byte(src)}
	for _, m := range []string{"{cast", "{38", "{3 t"} {
		at := strings.Index(src, m)
		f.Marks = append(f.Marks, &grammar.Mark{Span: grammar.Span{Start: at, End: at + 3}})
	}
	r := func(a, b int64) *big.Rat { return big.NewRat(a, b) }
	c := &rewrite.Conversion{
		Draft:   &dsl.Draft{File: f},
		Targets: []dsl.Target{{Name: "S"}, {Name: "M"}, {Name: "L"}},
		Gauges:  []rewrite.GaugeChange{{Fabric: "main", From: dsl.Gauge{Stitches: r(2, 1), Rows: r(28, 10)}, To: dsl.Gauge{Stitches: r(18, 10), Rows: r(1, 3)}, Over: r(10, 1)}},
		Numbers: []rewrite.Number{
			{Name: "back", Mark: 0, Piece: "Back", Phrase: "cast on", Kind: dsl.Stitches, Unit: grammar.Stitches, From: []*big.Rat{r(98, 1), r(106, 1), r(114, 1)}, To: []*big.Rat{r(90, 1), r(94, 1), r(102, 1)},
				Wanted: []*big.Rat{r(49, 1), r(53, 1), r(57, 1)}, Measures: []*big.Rat{r(50, 1), r(470, 9), nil}, Tied: true},
			{Mark: 1, Kind: dsl.Length, Unit: grammar.Centimetres, From: []*big.Rat{r(38, 1)}, To: []*big.Rat{r(77, 2)}, Wanted: []*big.Rat{nil}, Measures: []*big.Rat{nil}},
			{Mark: 2, Kind: dsl.Times, From: []*big.Rat{r(3, 1)}, To: []*big.Rat{r(4, 1)}, Assumed: true},
		},
		Proven: true, Cautions: []string{"cords <b>"}, Warnings: []string{"look"},
	}
	data, err := ChangesJSON(c)
	if err != nil {
		t.Fatal(err)
	}
	want := `{
  "version": 1,
  "draft": "pullover.md",
  "sizes": ["S","M","L"],
  "gauges": [
    {"fabric":"main","from":{"stitches":"20","rows":"28","over_cm":"10"},"to":{"stitches":"18","rows":"3.333333","over_cm":"10"},"assumed":false}
  ],
  "numbers": [
    {"name":"back","line":3,"column":6,"piece":"Back","phrase":"cast on","kind":"stitches","from":[98,106,114],"to":[90,94,102],"wanted_cm":["49","53","57"],"measures_cm":["50","52.222222",null],"tied":true,"assumed":false},
    {"name":"","line":3,"column":42,"piece":"","phrase":"","kind":"centimetres","from":["38"],"to":["38.5"],"wanted_cm":[],"measures_cm":[],"tied":false,"assumed":false},
    {"name":"","line":3,"column":52,"piece":"","phrase":"","kind":"times","from":[3],"to":[4],"wanted_cm":[],"measures_cm":[],"tied":false,"assumed":true}
  ],
  "proven_optimal": true,
  "assumptions": [],
  "warnings": [
    "cords <b>",
    "look"
  ]
}
`
	if diff := cmp.Diff(want, string(data)); diff != "" {
		t.Errorf("-want +got\n%s", diff)
	}
	if !json.Valid(data) {
		t.Error("is no JSON")
	}
}

func TestChangesJSONOfEveryDraft(t *testing.T) {
	for name, src := range drafts(t) {
		c := converted(t, name, src, looser(t, name, src))
		data, err := ChangesJSON(c)
		if err != nil {
			t.Fatal(err)
		}
		var got struct {
			Numbers []struct {
				Line, Column int
				From, To     []any
			}
		}
		if err := json.Unmarshal(data, &got); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(got.Numbers) != len(c.Numbers) || len(got.Numbers) == 0 {
			t.Fatalf("%s: %d numbers of %d", name, len(got.Numbers), len(c.Numbers))
		}
		for i, n := range got.Numbers {
			off, ok := c.Draft.File.Offset(n.Line, n.Column)
			if !ok || src[off] != '{' || c.Draft.File.Marks[c.Numbers[i].Mark].Span.Start != off {
				t.Fatalf("%s: %d:%d is no instruction", name, n.Line, n.Column)
			}
			if len(n.From) != len(c.Draft.Sizes) || len(n.To) != len(c.Targets) {
				t.Errorf("%s: %d:%d has %d and %d values", name, n.Line, n.Column, len(n.From), len(n.To))
			}
		}
	}
}

// Strings are what encoding/json makes of them.
func TestJSONText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"a\u2028b", "\xff", "“é”", `\"`, "<b>&", "\x00\x1f\x7f\t\r\n", "\xed\xa0\x80"})).Draw(t, "text")
		var j jsonWriter
		j.text(s)
		var want bytes.Buffer
		e := json.NewEncoder(&want)
		e.SetEscapeHTML(false)
		if err := e.Encode(s); err != nil || j.err != nil {
			t.Fatal(err, j.err)
		}
		if string(j.b)+"\n" != want.String() {
			t.Fatalf("%q: %s, want %s", s, j.b, want.String())
		}
	})
}

func TestBaseName(t *testing.T) {
	for name, want := range map[string]string{"": "", "-": "-", "a.md": "a.md", "x/y/a.md": "a.md", `C:\x\a.md`: "a.md", `x\y/a.md`: "a.md", "/": "/"} {
		if got := baseName(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}
