package render

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

func cardFrom(t testing.TB, name string, src []byte) *dsl.Card {
	t.Helper()
	f, diags := grammar.Parse(name, src)
	c, more := dsl.ReadCard(f)
	if c == nil {
		t.Fatalf("%s cannot be read:\n%s", name, Diagnostics(f, append(diags, more...), false))
	}
	return c
}

// What each shipped card says, looked at by a person before it was taken.
func TestSwatchesGolden(t *testing.T) {
	names, _ := filepath.Glob("../testdata/cards/*.md")
	if len(names) == 0 {
		t.Fatal("no cards found")
	}
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		base := strings.TrimSuffix(filepath.Base(name), ".md")
		c := cardFrom(t, base+".md", src)
		data, err := SwatchesJSON(c)
		if err != nil {
			t.Fatal(err)
		}
		for ending, got := range map[string][]byte{".txt": Swatches(c, Options{}), "-in.txt": Swatches(c, Options{Units: "in"}), ".json": data} {
			path := filepath.Join("testdata", "cards", base+ending)
			if *update {
				if err := os.WriteFile(path, got, 0o666); err != nil {
					t.Fatal(err)
				}
				continue
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), string(got)); diff != "" {
				t.Errorf("%s: -want +got\n%s", path, diff)
			}
		}
	}
}

// What a card means for a draft: one where the printed size is right for nobody, and one where another size is.
func TestDecisionGolden(t *testing.T) {
	for _, x := range []struct{ card, draft, size, name string }{
		{"otter-blue.md", "second-best.md", "M", "recalculate"},
		{"toad-green.md", "puddle-inspector.md", "2 yrs", "another-size"},
		{"napkin-corner.md", "low-tide.md", "", "one-size"},
	} {
		src, err := os.ReadFile("../testdata/cards/" + x.card)
		if err != nil {
			t.Fatal(err)
		}
		text, err := os.ReadFile("../testdata/drafts/" + x.draft)
		if err != nil {
			t.Fatal(err)
		}
		f, diags := grammar.Parse(x.draft, text)
		d, more := dsl.Read(f)
		if d == nil {
			t.Fatal(diags, more)
		}
		r := rewrite.Request{}
		if x.size != "" {
			r.Sizes = []string{x.size}
		}
		c, diags, _ := rewrite.Decide(d, cardFrom(t, x.card, src), r)
		if c == nil {
			t.Fatal(diags)
		}
		data, err := DecisionJSON(c)
		if err != nil {
			t.Fatal(err)
		}
		for ending, got := range map[string][]byte{".txt": Decision(c, Options{}), "-in.txt": Decision(c, Options{Units: "in"}), ".json": data} {
			path := filepath.Join("testdata", "decisions", x.name+ending)
			if *update {
				if err := os.WriteFile(path, got, 0o666); err != nil {
					t.Fatal(err)
				}
				continue
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(string(want), string(got)); diff != "" {
				t.Errorf("%s: -want +got\n%s", path, diff)
			}
		}
	}
}

// A single reading of 38 stitches: half a stitch is 1.3 %, and a chest of 100 cm lies between 98.7 and 101.3.
func TestWhatHalfAStitchMeansOnAChest(t *testing.T) {
	c := cardFrom(t, "card.md", []byte("```swatch\nfabric main\nwashed: 38 sts over 19 cm; 52 rows over 20 cm\n```\n"))
	got := string(Swatches(c, Options{}))
	for _, want := range []string{"a chest of 100 cm may come out between 98.7 and 101.3.", "Too small to trust its stitches: read as often over 26 cm", "rows can be trusted"} {
		if !strings.Contains(strings.Join(strings.Fields(got), " "), want) {
			t.Errorf("%q is missing from\n%s", want, got)
		}
	}
}

// Data and text say the same gauge.
func TestSwatchesJSONIsJSON(t *testing.T) {
	c := cardFrom(t, "card.md", []byte("```swatch\nfabric \"main\", in the round\nunwashed: 20 sts over 6.25 in; 20 rows over 5.25 in\nwashed: 20 sts over 4 in; 20 rows over 3 in\n```\n"))
	data, err := SwatchesJSON(c)
	if err != nil {
		t.Fatal(err)
	}
	var x struct {
		Swatches []struct {
			Washed struct {
				Stitches struct {
					To4In string `json:"to_4_in"`
				}
			}
			Width  string `json:"change_width_percent"`
			Length string `json:"change_length_percent"`
		}
	}
	if err := json.Unmarshal(data, &x); err != nil {
		t.Fatal(err)
	}
	// University of Regina, Math Central QQ.09.03, by the formula of ISO 5077:2007.
	if s := x.Swatches[0]; s.Width != "-36" || s.Length != "-42.857143" || s.Washed.Stitches.To4In != "20" {
		t.Errorf("%+v", s)
	}
	if text := string(Swatches(c, Options{})); !strings.Contains(text, "−36.0 % widthwise, −42.9 % lengthwise") {
		t.Error(text)
	}
}
