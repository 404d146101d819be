package render

import (
	"bytes"
	"math/big"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// read is a draft that has a meaning.
func read(t testing.TB, path string) *dsl.Draft {
	t.Helper()
	src, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	f, diags := grammar.Parse(filepath.Base(path), src)
	d, more := dsl.Read(f)
	if diags.Has(grammar.Error) || d == nil {
		t.Fatalf("%s cannot be read:\n%s", path, Diagnostics(f, append(diags, more...), false))
	}
	return d
}

// A draft and what its author made of it (a size added, an instruction new, one gone, one moved, one reworded, a whole piece
// moved, the text changed), and a draft and its conversion; each looked at by a person before it was taken.
func TestReviewGolden(t *testing.T) {
	dir := filepath.Join("testdata", "review")
	first := read(t, filepath.Join(dir, "slipway.md"))
	src := first.File.Src
	for name, r := range map[string]*rewrite.Comparison{
		"hand":      rewrite.Review(first, read(t, filepath.Join(dir, "slipway-second.md"))),
		"converted": converted(t, "slipway.md", src, &dsl.Gauge{Stitches: big.NewRat(17, 10), Rows: big.NewRat(24, 10)}).Review(),
	} {
		data, err := ReviewJSON(r)
		if err != nil {
			t.Fatal(err)
		}
		page := ReviewPage(r, Options{})
		wellFormed(t, name, page)
		for _, css := range []string{styles, reviewStyles} {
			page = bytes.Replace(page, []byte(css), nil, 1)
		}
		golden(t, filepath.Join(dir, name+".html"), page)
		golden(t, filepath.Join(dir, name+".json"), data)
		golden(t, filepath.Join(dir, name+".md"), ReviewMarkdown(r, Options{}, false))
		golden(t, filepath.Join(dir, name+".txt"), ReviewText(r, Options{}, Terminal{Width: 100}))
		golden(t, filepath.Join(dir, name+"-all-in.txt"), ReviewText(r, Options{Units: "in"}, Terminal{Width: 72, All: true}))
	}
}

// Colour changes nothing but colour, and no line is wider than the terminal if a blank can be found to break it at.
func TestReviewTextFits(t *testing.T) {
	for name, src := range drafts(t) {
		r := converted(t, name, src, looser(t, name, src)).Review()
		for _, wide := range []int{40, 72, 100} {
			plain := ReviewText(r, Options{}, Terminal{Width: wide, All: true})
			got := uncoloured(string(ReviewText(r, Options{}, Terminal{Width: wide, All: true, Colour: true})))
			if diff := cmp.Diff(string(plain), got); diff != "" {
				t.Fatalf("%s: colour changes more than colour:\n%s", name, diff)
			}
			for _, l := range strings.Split(string(plain), "\n") {
				if words := strings.TrimSpace(l); width(l) > wide && strings.Contains(words, " ") {
					t.Errorf("%s: %d columns in %d: %s", name, width(l), wide, l)
				}
			}
		}
	}
}

// Every form says of each changed number what it was and what it is.
func TestReviewFormsAgree(t *testing.T) {
	said := regexp.MustCompile(`[ \t\n]+`)
	for name, src := range drafts(t) {
		c := converted(t, name, src, looser(t, name, src))
		r := c.Review()
		a := accountOf(r, Options{})
		text := said.ReplaceAllString(string(ReviewText(r, Options{}, Terminal{Width: 100})), " ")
		markdown := string(ReviewMarkdown(r, Options{}, false))
		page := string(ReviewPage(r, Options{}))
		n := 0
		for _, p := range a.pieces {
			for _, m := range p.marks {
				for _, x := range m.numbers {
					n++
					if x.old == "" || x.now == "" {
						continue
					}
					for form, has := range map[string]bool{
						"text":     strings.Contains(text, withoutUnit(x.old, x.now)+" → "+x.now),
						"markdown": strings.Contains(markdown, " "+escapeMarkdown(x.old)) && strings.Contains(markdown, strong(escapeMarkdown(x.now))),
						"page":     strings.Contains(page, "<div>"+escape(x.old)) && strings.Contains(page, "class=\"now\"><div>"+escape(x.now)),
					} {
						if !has {
							t.Errorf("%s, %s: %s → %s is missing", name, form, x.old, x.now)
						}
					}
				}
			}
		}
		if n < r.Tally.Changed {
			t.Errorf("%s: %d numbers told of %d that changed", name, n, r.Tally.Changed)
		}
	}
}

// Terminal text and pages let nothing of a draft through that steers them.
func TestReviewEscapes(t *testing.T) {
	nasty := "<i>&\x1b[31m|*`_[x](y)"
	d := func(ease, text string) *dsl.Draft {
		src := "# A " + nasty + "\n\n```draft\nfabric main: 20 sts and 28 rows to 10 cm\nw = " + ease + " cm\n```\n\n## B\n\n{Cast on 40 sts | w}. " + text + " {Bind off all sts}.\n"
		f, _ := grammar.Parse("x.md", []byte(src))
		d, diags := dsl.Read(f)
		if d == nil {
			t.Fatal(diags)
		}
		return d
	}
	r := rewrite.Review(d("20", nasty), d("21", nasty+" more "+nasty))
	page := ReviewPage(r, Options{})
	wellFormed(t, "escaped", page)
	mustLack(t, page, "<i>")
	mustLack(t, ReviewText(r, Options{}, Terminal{Width: 80}), "\x1b")
	mustLack(t, ReviewMarkdown(r, Options{}, true), "<i>", "[x](y)")
}

// A comparison that takes lists for words gives both sentences back, too, and never cuts a list.
func TestListDiffGivesBoth(t *testing.T) {
	sentence := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"row", "every", "4th", "6", "5 (6, 6)", "7 (8: 9)[10, 11]", "\ue000", "(a)"}), 0, 12).Draw(t, "words"), " ")
	})
	var d listDiffer
	rapid.Check(t, func(t *rapid.T) {
		was, now := sentence.Draw(t, "was"), sentence.Draw(t, "now")
		givesBoth(t, d.diff(was, now), was, now)
	})
	if r := d.diff("for 5 (6, 6) rows", "for 5 (6, 7) rows"); len(r) != 4 || r[1].text != "5 (6, 6)" || r[2].text != "5 (6, 7)" {
		t.Errorf("%q", r)
	}
}
