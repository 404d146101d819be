package render

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

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
			golden(t, filepath.Join("testdata", "cards", base+ending), got)
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
			golden(t, filepath.Join("testdata", "decisions", x.name+ending), got)
		}
	}
}

// A single reading of 38 stitches: half a stitch is 1.3 %, and a chest of 100 cm lies between 98.7 and 101.3.
func TestWhatHalfAStitchMeansOnAChest(t *testing.T) {
	c := cardFrom(t, "card.md", []byte("```swatch\nfabric main\nwashed: 38 sts over 19 cm; 52 rows over 20 cm\n```\n"))
	got := string(Swatches(c, Options{}))
	for _, want := range []string{"a chest of 100 cm may come out between 98.7 and 101.3,", "The stitches of main cannot be trusted yet: they were measured over only 19 cm. Measured as often over 26 cm, they would be sure"} {
		if !strings.Contains(strings.Join(strings.Fields(got), " "), want) {
			t.Errorf("%q is missing from\n%s", want, got)
		}
	}
}

// What is too small is what was measured; whether the swatch is, too, is said where its size is known.
func TestWhatIsTooSmall(t *testing.T) {
	const read = "```swatch\nfabric main\nwashed: 38 sts over 19 cm; 40 rows over 16 cm\n"
	for size, want := range map[string][2]string{
		"":                                    {"if the swatch is that wide; else knit a wider one.", "if the swatch is that tall; else knit a taller one."},
		"weighs 20 g, 28 cm wide, 18 cm tall": {"and the swatch is 28 cm wide, so there is room.", "but the swatch is only 18 cm tall: knit a taller one."},
		"weighs 20 g, 22 cm wide, 30 cm tall": {"but the swatch is only 22 cm wide: knit a wider one.", "and the swatch is 30 cm tall, so there is room."},
	} {
		got := strings.Join(strings.Fields(string(Swatches(cardFrom(t, "card.md", []byte(read+size+"\n```\n")), Options{}))), " ")
		for _, x := range want {
			if !strings.Contains(got, x) {
				t.Errorf("%q: %q is missing from\n%s", size, x, got)
			}
		}
		if strings.Contains(got, "Too small") {
			t.Error(got)
		}
	}
	wide := string(Swatches(cardFrom(t, "card.md", []byte("```swatch\nfabric main\nwashed: 60 sts over 30 cm; 80 rows over 30 cm\n```\n")), Options{}))
	if !strings.Contains(wide, "It can be trusted to one per cent") || strings.Contains(wide, "trusted yet") {
		t.Error(wide)
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

const scarf = "# Scarf\n\n```draft\nfabric main: 20 sts and 28 rows to 10 cm, unwashed 20 sts and 28 rows to 10 cm\nfabric rib: 22 sts and 28 rows to 10 cm\nsizes: short (long)\nlength = 38 (60) cm\n```\n\n" +
	"{Cast on 40 sts}. {Work 14 rows in rib}. {Work to 38 (60) cm, ending with a WS row | length}. {Bind off all sts}.\n"

func swatched(t testing.TB, draft, card string, sizes ...string) *rewrite.Conversion {
	t.Helper()
	f, diags := grammar.Parse("scarf.md", []byte(draft))
	d, more := dsl.Read(f)
	if d == nil {
		t.Fatal(diags, more)
	}
	r := rewrite.Request{Sizes: sizes}
	if card != "" {
		r.Gauges, diags = rewrite.WithSwatches(d, cardFrom(t, "card.md", []byte("```swatch\n"+card+"\n```\n")), nil)
		if diags.Has(grammar.Error) {
			t.Fatal(diags)
		}
	}
	c, diags := rewrite.Convert(d, r)
	if c == nil {
		t.Fatal(diags)
	}
	return c
}

// 50 rows over 20 cm washed and 21.3 cm before: 38 cm are 95 rows, and 95 rows are 40.47 cm on the needles. With a wrong-side row to
// end with, flat, they are 96: 40.9 cm.
func TestLengthsOnTheNeedles(t *testing.T) {
	const card = "fabric main\nunwashed: 36 sts over 20 cm; 50 rows over 21.3 cm\nwashed: 36 sts over 20 cm; 50 rows over 20 cm"
	plain := strings.NewReplacer(", ending with a WS row", "", "{Work 14 rows in rib}. ", "", "28 rows to 10 cm, unw", "28 rounds to 10 cm, unw").Replace(scarf)
	c := swatched(t, plain, card, "short")
	page, err := Page(c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	data, err := ChangesJSON(c)
	if err != nil {
		t.Fatal(err)
	}
	const said = "Work to 38 cm (38 cm when finished: 95 rounds, 40.5 cm on the needles)"
	for name, text := range map[string]string{"copy": string(ReadingCopy(c, Options{})), "page": string(page)} {
		if !strings.Contains(text, said) {
			t.Errorf("the %s does not say %q:\n%s", name, said, text)
		}
	}
	if !strings.Contains(string(data), `"wanted_cm":["38"],"measures_cm":["38"],"tied":true,"assumed":false,"rows":[95],"on_needles_cm":["40.47"]}`) {
		t.Errorf("%s", data)
	}
	if !strings.Contains(string(c.New), "fabric main: 18 sts and 25 rounds to 10 cm, unwashed 18 sts and 23.47 rows to 10 cm") {
		t.Errorf("%s", c.New)
	}

	c = swatched(t, scarf, card)
	// The rib, 25 rows to 10 cm too, changes in washing as the main fabric does.
	const both = "ending with a WS row (38 (60) cm when finished: 96 (150) rows, 41 (64) cm on the needles)"
	if text := string(ReadingCopy(c, Options{})); !strings.Contains(text, both) {
		t.Errorf("%q is missing from\n%s", both, text)
	}
	if a := strings.Join(c.Assumptions, "\n"); !strings.Contains(a, "The washing of rib was not measured: it is taken to change in length as main does.") {
		t.Error(a)
	}
	if text := string(ReadingCopy(c, Options{Units: "in"})); !strings.Contains(text, "(15 (23½) in when finished: 96 (150) rows, 16 (25¼) in on the needles)") {
		t.Error(text)
	}
	if text := string(ReadingCopy(c, Options{Units: "both"})); !strings.Contains(text, "96 (150) rows, 41 (64) cm [16 (25¼) in] on the needles)") {
		t.Error(text)
	}
}

// Nothing is said of lengths on the needles that nobody measured, and nothing without a card.
func TestNoLengthsOnTheNeedles(t *testing.T) {
	known := strings.Replace(scarf, ", unwashed 20 sts and 28 rows to 10 cm", "", 1)
	for _, card := range []string{"", "fabric main\nwashed: 36 sts over 20 cm; 50 rows over 20 cm", "fabric main\nunwashed: 36 sts over 20 cm; 50 rows over 20 cm", "fabric main\nunwashed: 36 sts over 20 cm\nwashed: 37 sts over 20 cm; 50 rows over 20 cm"} {
		c := swatched(t, known, card)
		data, err := ChangesJSON(c)
		if err != nil {
			t.Fatal(err)
		}
		if text := string(ReadingCopy(c, Options{})) + string(data); strings.Contains(text, "on the needles)") || strings.Contains(text, "on_needles") {
			t.Errorf("%q:\n%s", card, text)
		}
	}
	// Where the draft says what washing does, and the card does not, the draft is believed, and that is said; but not of a fabric
	// of which it says nothing.
	says := strings.Replace(scarf, "unwashed 20 sts and 28 rows", "unwashed 20 sts and 26 rows", 1)
	const card = "fabric main\nwashed: 36 sts over 20 cm; 56 rows over 20 cm"
	c := swatched(t, says, card)
	if text := string(ReadingCopy(c, Options{})); strings.Contains(text, "on the needles)") || !strings.Contains(text, "How rib changes in washing is not known") {
		t.Error(text)
	}
	c = swatched(t, strings.Replace(says, "{Work 14 rows in rib}. ", "", 1), card)
	if text := string(ReadingCopy(c, Options{})); !strings.Contains(text, "106 (168) rows, 41 (64.5) cm on the needles)") || !strings.Contains(text, "as the draft has it") {
		t.Error(text)
	}
}

// Every phrase that works to or for a length tells its rows and how long they are on the needles, in the copy and in the data, in
// centimetres and in inches, and where the cloth hangs. By hand: 2.5 rows to a centimetre, each 0.426 cm before washing.
func TestEveryPhraseWithALength(t *testing.T) {
	const flat = "unwashed: 36 sts over 20 cm; 50 rows over 21.3 cm\nwashed: 36 sts over 20 cm; 50 rows over 20 cm"
	for _, x := range []struct{ before, phrase, rows, needles string }{
		{"", "work to 40 cm", "100", "42.6"},
		{"", "work 40 cm", "100", "42.6"},
		{"", "work even to 40 cm", "100", "42.6"},
		{"", "for 40 cm", "100", "42.6"},
		{"", "until piece measures 40 cm", "100", "42.6"},
		{"", "work until work measures 40 cm from the cast-on", "100", "42.6"},
		{"", "work to 40 cm, ending with a WS row", "100", "42.6"},
		{"", "work to 40 cm, ending with a RS row", "101", "43.026"},
		{"", "knit to 400 mm", "100", "42.6"},
		{"", "work to 40 cm [15 3/4 in]", "100", "42.6"},
		{"{Work 10 rows}. {Bind off 2 sts at the beginning of the next 2 rows | as underarm}. ", "work until armhole measures 20 cm from underarm", "50", "21.3"},
		{"{Work 10 rows}. {Bind off 2 sts at the beginning of the next 2 rows | as underarm}. ", "work to 20 cm from underarm", "50", "21.3"},
		{"{Work 10 rows}. ", "work to 40 cm", "100", "42.6"},
		{"{Work 10 rows}. ", "work 4 cm more", "10", "4.26"},
		{"", "until strip measures 20 in", "128", "54.528"}, // 50.8 cm are 127 rows; flat, an even number ends with a WS row
		{"", "work to 15½\"", "98", "41.748"},               // 39.37 cm are 98.4 rows
	} {
		draft := "# Strip\n\n```draft\nfabric main: 20 sts and 28 rows to 10 cm\nwidth = 30 cm\n```\n\n{Cast on 60 sts}. " + x.before + "{" + x.phrase + "}. {Bind off all sts}.\n"
		c := swatched(t, draft, "fabric main\n"+flat)
		data, err := ChangesJSON(c)
		if err != nil {
			t.Fatal(err)
		}
		words := " when finished: " + x.rows + " rows, "
		if text := string(ReadingCopy(c, Options{})); !strings.Contains(text, words) || !strings.Contains(text, " on the needles)") {
			t.Errorf("%s: %q is missing from\n%s", x.phrase, words, text)
		}
		if want := `"rows":[` + x.rows + `],"on_needles_cm":["` + x.needles + `"]`; !strings.Contains(string(data), want) {
			t.Errorf("%s: %s is missing from\n%s", x.phrase, want, data)
		}
	}
	// Hanging a twentieth longer: 40 cm are 95.2 rows, 96 flat, which lie 38.4 cm and are 40.9 on the needles.
	c := swatched(t, "# Coat\n\n```draft\nfabric main: 20 sts and 28 rows to 10 cm\nlength = 40 cm\n```\n\n{Cast on 60 sts}. {Work until coat measures 40 cm | length}. {Bind off all sts}.\n",
		"fabric main\n"+flat+"\nhung: 50 rows over 21 cm")
	if text := string(ReadingCopy(c, Options{})); !strings.Contains(text, "(40 cm when it hangs: 96 rows, 38.5 cm lying flat, 41 cm on the needles)") {
		t.Error(text)
	}
}
