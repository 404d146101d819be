package rewrite_test

import (
	"math/big"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// readDraft is a draft that has a meaning, nil where the text has none.
func readDraft(name, text string) *dsl.Draft {
	f, diags := grammar.Parse(name, []byte(text))
	if diags.Has(grammar.Error) {
		return nil
	}
	d, _ := dsl.Read(f)
	return d
}

// loosened is a draft's conversion to another gauge.
func loosened(t testing.TB, d *dsl.Draft, f [2]int64) *rewrite.Conversion {
	t.Helper()
	g := times(d.Fabrics[0].Gauge, f, big.NewRat(10, 1))
	c, diags := rewrite.Convert(d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: g}}})
	if c == nil {
		t.Skipf("%s at another gauge: %v", d.File.Name, diags[0].Summary)
	}
	return c
}

// each visits every instruction of a comparison.
func each(r *rewrite.Comparison, visit func(m *rewrite.MarkPair)) {
	for i := range r.Pieces {
		for j := range r.Pieces[i].Marks {
			visit(&r.Pieces[i].Marks[j])
		}
	}
}

// check is a test, or one of rapid's.
type check interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// complete says whether a comparison has every instruction of both versions, once.
func complete(t check, r *rewrite.Comparison) {
	t.Helper()
	var old, new []int
	each(r, func(m *rewrite.MarkPair) {
		if m.Old >= 0 {
			old = append(old, m.Old)
		}
		if m.New >= 0 {
			new = append(new, m.New)
		}
		if m.Old < 0 && m.Is != rewrite.Added || m.New < 0 && m.Is != rewrite.Dropped {
			t.Errorf("an instruction of one version is %s", m.Is)
		}
	})
	for _, v := range []struct {
		got []int
		n   int
	}{{old, len(r.Old.File.Marks)}, {new, len(r.New.File.Marks)}} {
		sort.Ints(v.got)
		for i := range max(len(v.got), v.n) {
			if i >= len(v.got) || v.got[i] != i {
				t.Fatalf("of %d instructions these are there: %v", v.n, v.got)
			}
		}
	}
}

// A draft beside itself has no difference, and all of it is there.
func TestReviewOfTheSame(t *testing.T) {
	for name, src := range shipped(t) {
		d := readDraft(name, src)
		if d == nil {
			continue
		}
		r := rewrite.Review(d, readDraft(name, src))
		if r.Tally.Any() {
			t.Errorf("%s: %+v", name, r.Tally)
		}
		complete(t, r)
		n := 0
		each(r, func(m *rewrite.MarkPair) { n += len(m.Numbers) })
		if c, _ := rewrite.Convert(d, rewrite.Request{}); c != nil && n != len(c.Numbers) {
			t.Errorf("%s: %d numbers of %d", name, n, len(c.Numbers))
		}
	}
}

// The account of a conversion has every number of it exactly once, with its old and its new values, and changed where it changed.
// The draft that was written, read again and compared with the old one by name and place, tells of the same numbers wherever the
// sentence is still the same.
func TestReviewOfAConversion(t *testing.T) {
	for name, src := range shipped(t) {
		for _, f := range factors[:4] {
			t.Run(name, func(t *testing.T) {
				d := readDraft(name, src)
				if d == nil {
					t.Skip("no draft")
				}
				c := loosened(t, d, f)
				r := c.Review()
				var told []rewrite.NumberPair
				changed := 0
				each(r, func(m *rewrite.MarkPair) {
					told = append(told, m.Numbers...)
				})
				if len(told) != len(c.Numbers) {
					t.Fatalf("%d numbers told of %d", len(told), len(c.Numbers))
				}
				for i, n := range c.Numbers {
					x := told[i]
					if n.Changed {
						changed++
					}
					if (x.Is == rewrite.Changed) != n.Changed || x.Phrase != n.Phrase || !sameList(x.Old, n.From) || !sameList(x.New, n.To) {
						t.Errorf("%s: %v to %v is told as %s, %v to %v", n.Phrase, n.From, n.To, x.Is, x.Old, x.New)
					}
					if n.Changed && x.Why == "" {
						t.Errorf("%s: %v to %v has no reason", n.Phrase, n.From, n.To)
					}
				}
				if r.Tally.Changed != changed {
					t.Errorf("%d numbers changed, not %d", r.Tally.Changed, changed)
				}
				again(t, c, r)
			})
		}
	}
}

// again compares the account of a conversion with that of the two drafts.
func again(t *testing.T, c *rewrite.Conversion, r *rewrite.Comparison) {
	now := readDraft("new.md", string(c.New))
	if now == nil {
		t.Fatal("the new draft cannot be read")
	}
	by := rewrite.Review(c.Draft, now)
	complete(t, by)
	if by.Tally.Added+by.Tally.Dropped+by.Tally.Moved+by.Tally.Pieces+by.Tally.Prose+by.Tally.Sizes > 0 {
		t.Errorf("a conversion adds, drops or moves: %+v", by.Tally)
	}
	var a, b []*rewrite.MarkPair
	each(r, func(m *rewrite.MarkPair) { a = append(a, m) })
	each(by, func(m *rewrite.MarkPair) { b = append(b, m) })
	if len(a) != len(b) {
		t.Fatalf("%d and %d instructions", len(a), len(b))
	}
	for i := range a {
		if a[i].Old != b[i].Old || a[i].Was != b[i].Was || a[i].Now != b[i].Now {
			t.Errorf("“%s” to “%s”, and “%s” to “%s”", a[i].Was, a[i].Now, b[i].Was, b[i].Now)
		}
		if a[i].Reworded {
			continue
		}
		for j := range a[i].Numbers {
			x, y := a[i].Numbers[j], b[i].Numbers[j]
			if x.Is != y.Is || !sameList(x.Old, y.Old) || !sameList(x.New, y.New) || !sameList(x.OldMeasures, y.OldMeasures) {
				t.Errorf("“%s”: %s, %v to %v, and %s, %v to %v", a[i].Was, x.Is, x.Old, x.New, y.Is, y.Old, y.New)
			}
		}
	}
	for i := range r.Totals {
		if x, y := r.Totals[i], by.Totals[i]; x.Name != y.Name || !sameList(x.Old, y.Old) || !sameList(x.New, y.New) {
			t.Errorf("%s: %v to %v, and %s: %v to %v", x.Name, x.Old, x.New, y.Name, y.Old, y.New)
		}
	}
}

func sameList(a, b []*big.Rat) bool {
	for i := range max(len(a), len(b)) {
		var x, y *big.Rat
		if i < len(a) {
			x = a[i]
		}
		if i < len(b) {
			y = b[i]
		}
		if (x == nil) != (y == nil) || x != nil && x.Cmp(y) != 0 {
			return false
		}
	}
	return true
}

const cardigan = "# Tin Cardigan\n\n```draft\nfabric main: 20 sts and 28 rows to 10 cm\nsizes: S (M)\nwide = 50 (55) cm\n```\n\n" +
	"## Back\n\nWith the grey, {cast on 100 (110) sts | wide, as back}. {Work 12 rows}. {Work to 30 (32) cm, as shelf}. {Work 4 rows}. {Bind off all sts}.\n\n" +
	"## Front\n\n{Cast on 100 (110) sts}. {Work 20 rows}. {Bind off all sts}.\n\n## Making up\n\nSew it up. Wash it.\n"

// What an author does to a draft, and what is said of it.
func TestReviewByHand(t *testing.T) {
	replace := func(pairs ...string) func(string) string { return strings.NewReplacer(pairs...).Replace }
	for name, k := range map[string]struct {
		edit func(string) string
		want rewrite.Tally
	}{
		"a number":                {replace("12 rows", "14 rows"), rewrite.Tally{Changed: 1}},
		"lines put in":            {replace("## Front", "\n\n\n## Front"), rewrite.Tally{}},
		"a paragraph broken":      {replace("Sew it up. Wash", "Sew it up.\nWash"), rewrite.Tally{}},
		"an instruction gone":     {replace(" {Work 4 rows}.", ""), rewrite.Tally{Dropped: 1}},
		"an instruction new":      {replace("{Work 20 rows}.", "{Work 20 rows}. {Decrease 2 sts evenly}."), rewrite.Tally{Added: 1}},
		"an instruction moved":    {replace("{Work 12 rows}. {Work to 30 (32) cm, as shelf}.", "{Work to 30 (32) cm, as shelf}. {Work 12 rows}."), rewrite.Tally{Moved: 1}},
		"to another piece":        {replace(" {Work 4 rows}.", "", "{Work 20 rows}.", "{Work 20 rows}. {Work 4 rows}."), rewrite.Tally{Moved: 1}},
		"a name found again":      {replace("{cast on 100 (110) sts | wide, as back}", "{pick up 98 (108) sts | wide, as back}"), rewrite.Tally{Changed: 2, Reworded: 1}},
		"reworded":                {replace("{Work 20 rows}", "{Knit 20 rows}"), rewrite.Tally{Reworded: 1}},
		"tied otherwise":          {replace("sts | wide", "sts | wide - 0 cm"), rewrite.Tally{Ties: 1}},
		"a piece moved":           {movePiece, rewrite.Tally{Pieces: 1}},
		"a piece with a new name": {replace("## Front", "## Fronts"), rewrite.Tally{Prose: 1}},
		"a heading put in":        {replace(" {Work 4 rows}.", "\n\n### Top\n\n{Work 4 rows}."), rewrite.Tally{Prose: 3}},
		"the text":                {replace("Sew it up.", "Sew it up with the grey."), rewrite.Tally{Prose: 1}},
		"a paragraph new":         {replace("Sew it", "Mind the cat.\n\nSew it"), rewrite.Tally{Prose: 1}},
		"a gauge":                 {replace("28 rows", "29 rows"), rewrite.Tally{Gauges: 1}},
		"a fabric new":            {replace("sizes:", "fabric rib: 22 sts and 30 rows to 10 cm\nsizes:"), rewrite.Tally{Gauges: 1}},
		"a measure":               {replace("50 (55) cm", "50 (56) cm"), rewrite.Tally{Measures: 1}},
		"a measure new":           {replace("wide =", "wide = 50 (55) cm\ndeep ="), rewrite.Tally{Measures: 1}},
		"a comment":               {replace("S (M)", "S (M) -- of two"), rewrite.Tally{Block: 1}},
		"a size new": {replace("S (M)", "S (M, L)", "50 (55)", "50 (55, 60)", "100 (110)", "100 (110, 120)", "30 (32)", "30 (32, 34)"),
			rewrite.Tally{Sizes: 1, Extended: 3}},
		"a size gone": {replace("S (M)", "S", "50 (55)", "50", "100 (110)", "100", "30 (32)", "30"), rewrite.Tally{Sizes: 1}},
	} {
		t.Run(name, func(t *testing.T) {
			old, new := draftOf(t, cardigan), draftOf(t, k.edit(cardigan))
			r := rewrite.Review(old, new)
			complete(t, r)
			got := r.Tally
			got.Numbers = 0
			if got != k.want {
				t.Errorf("%+v, not %+v", got, k.want)
			}
			swapped(t, r, rewrite.Review(new, old))
		})
	}
}

func movePiece(s string) string {
	a, b, c := strings.Index(s, "## Back"), strings.Index(s, "## Front"), strings.Index(s, "## Making")
	return s[:a] + s[b:c] + s[a:b] + s[c:]
}

// swapped says whether two comparisons are each other with old and new exchanged.
func swapped(t testing.TB, r, back *rewrite.Comparison) {
	t.Helper()
	a, b := r.Tally, back.Tally
	if a.Added != b.Dropped || a.Dropped != b.Added || a.Any() != b.Any() || a.Sizes != b.Sizes || a.Gauges != b.Gauges || a.Measures != b.Measures || a.Changed != b.Changed {
		t.Errorf("%+v, and the other way round %+v", a, b)
	}
	pairs := func(r *rewrite.Comparison, turn bool) map[[2]int]bool {
		out := map[[2]int]bool{}
		each(r, func(m *rewrite.MarkPair) {
			if turn {
				out[[2]int{m.New, m.Old}] = true
			} else {
				out[[2]int{m.Old, m.New}] = true
			}
		})
		return out
	}
	if x, y := pairs(r, false), pairs(back, true); !reflect.DeepEqual(x, y) {
		t.Errorf("pairs are %v, and the other way round %v", x, y)
	}
}

// Where the sentence of a conversion says more than numbers, the account says so, and shows both.
func TestReviewShowsRewrittenSentences(t *testing.T) {
	d := draftOf(t, "```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n{Cast on 100 sts}. {Decrease 1 st at each end of every 4th row 9 times}. {82 sts}. {Bind off all sts}.\n")
	seen := false
	each(loosened(t, d, [2]int64{90, 97}).Review(), func(m *rewrite.MarkPair) {
		if m.Reworded {
			seen = true
			if m.Was == m.Now || !strings.HasPrefix(m.Now, "Decrease 1 st at each end") {
				t.Errorf("“%s” to “%s”", m.Was, m.Now)
			}
		}
	})
	if !seen {
		t.Error("nothing is reworded")
	}
}

// Drafts whose sums do not hold, or that say something odd, are compared like any others.
func TestReviewOfBrokenDrafts(t *testing.T) {
	names, err := filepath.Glob("../testdata/broken/*.md")
	if err != nil || len(names) == 0 {
		t.Fatalf("no broken drafts: %v", err)
	}
	whole := draftOf(t, cardigan)
	n := 0
	for _, name := range names {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		d := readDraft(name, string(src))
		if d == nil {
			continue
		}
		n++
		if same := rewrite.Review(d, d); same.Tally.Any() {
			t.Errorf("%s differs from itself: %+v", name, same.Tally)
		}
		complete(t, rewrite.Review(d, whole))
		complete(t, rewrite.Review(whole, d))
	}
	if n < 5 {
		t.Errorf("%d drafts", n)
	}
}

// Paragraphs of a real draft left out, doubled and put in another order: every instruction is still there once.
func TestReviewOfShuffledDrafts(t *testing.T) {
	var all []string
	for _, src := range shipped(t) {
		all = append(all, src)
	}
	sort.Strings(all)
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		src := rapid.SampledFrom(all).Draw(t, "draft")
		old := readDraft("old.md", src)
		if old == nil {
			return
		}
		at := old.Block.Span.End
		parts := strings.Split(src[at:], "\n\n")
		for range rapid.IntRange(1, 4).Draw(t, "edits") {
			i := rapid.IntRange(0, len(parts)-1).Draw(t, "from")
			j := rapid.IntRange(0, len(parts)-1).Draw(t, "to")
			switch rapid.IntRange(0, 2).Draw(t, "what") {
			case 0:
				parts[i], parts[j] = parts[j], parts[i]
			case 1:
				parts = slices.Delete(parts, i, i+1)
				parts = append(parts, "The end.")
			case 2:
				parts = slices.Insert(parts, j, parts[i])
			}
		}
		new := readDraft("new.md", src[:at]+strings.Join(parts, "\n\n"))
		if new == nil {
			return
		}
		compared++
		complete(t, rewrite.Review(old, new))
		complete(t, rewrite.Review(new, old))
		if same := rewrite.Review(new, new); same.Tally.Any() {
			t.Fatalf("%+v", same.Tally)
		}
	})
	if compared == 0 {
		t.Error("nothing was compared")
	}
}

// FuzzReview pairs any two drafts: each instruction is there once, the other way round the same, and neither differs from itself.
func FuzzReview(f *testing.F) {
	f.Add("{Cast on 100 sts | as back}. {Work 12 rows}. {Bind off all sts}.", "{Cast on 98 sts | as back}. {Bind off all sts}.")
	f.Add("## A\n\n{Cast on 9 sts}. {Work 4 rows}. {Bind off all sts}.\n\n## B\n\n{Cast on 9 sts}. {Bind off all sts}.", "## B\n\n{Cast on 9 sts}. {Bind off all sts}.\n\n## A\n\n{Cast on 9 sts}. {Bind off all sts}. Text.")
	f.Add("{Cast on 9 sts}.\n| a | {9 sts \\| even} |\n\n> {bind off\n> all sts}", "- {Cast on 9 sts}\n- {9 sts | odd}\n\n{Bind off all sts}")
	f.Fuzz(func(t *testing.T, a, b string) {
		const block = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n"
		old, new := readDraft("a.md", block+a), readDraft("b.md", block+b)
		if old == nil || new == nil || len(a)+len(b) > 4000 {
			return
		}
		r := rewrite.Review(old, new)
		complete(t, r)
		complete(t, rewrite.Review(new, old))
		for _, x := range []*dsl.Draft{old, new} {
			if same := rewrite.Review(x, x); same.Tally.Any() {
				t.Fatalf("a draft differs from itself: %+v", same.Tally)
			}
		}
		if back := rewrite.Review(new, old); r.Tally.Any() != back.Tally.Any() {
			t.Fatalf("%+v, and the other way round %+v", r.Tally, back.Tally)
		}
	})
}

// The old outline of each piece lies behind the new one; a renamed piece is found by its instructions, and one that only one
// version has is told as new or as gone. Widths worked out by hand: 40 and 44 sts at 20 sts to 10 cm are 20 and 22 cm.
func TestReviewOutlines(t *testing.T) {
	const head = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n# Two\n\n"
	piece := func(name, sts string) string {
		return "## " + name + "\n\n{Cast on " + sts + " sts}. {Work 28 rows}. {Bind off all sts}.\n\n"
	}
	old := readDraft("old.md", head+piece("Back", "40")+piece("Pocket", "12")+piece("Collar", "90"))
	now := readDraft("new.md", head+piece("Back panel", "44")+piece("Collar", "90")+"## Belt\n\n{Cast on 8 sts in main | fixed}. {Work 300 rows}. {Bind off all sts}.\n")
	var got []string
	for _, o := range rewrite.Review(old, now).Outlines()[0] {
		wide := func(s *rewrite.Shape) string {
			left, right, _ := s.Bounds()
			return right.Minus(left).Rat().FloatString(0)
		}
		got = append(got, o.Name+" "+o.Is.String()+" "+wide(&o.Was)+" "+wide(&o.Now))
	}
	want := "Back panel changed 20 22; Collar same 45 45; Belt added 0 4; Pocket dropped 6 0"
	if s := strings.Join(got, "; "); s != want {
		t.Errorf("%s\nnot\n%s", s, want)
	}
}

// Of a draft and its conversion, read again, each size has the outlines that the conversion has.
func TestReviewOutlinesOfAConversion(t *testing.T) {
	paths, _ := filepath.Glob("../testdata/drafts/*.md")
	if len(paths) == 0 {
		t.Fatal("no drafts")
	}
	for _, path := range paths {
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		d := readDraft(filepath.Base(path), string(src))
		c := loosened(t, d, [2]int64{9, 10})
		again := readDraft(filepath.Base(path), string(c.New))
		a, b := c.Outlines(), rewrite.Review(d, again).Outlines()
		for s := range a {
			for i := range a[s] {
				if x, y := &a[s][i], &b[s][i]; x.Name != y.Name || !x.Was.Same(&y.Was) || !sameCounts(&x.Now, &y.Now) {
					t.Errorf("%s, size %d: %s is drawn otherwise", path, s, x.Name)
				}
			}
		}
	}
}

// sameCounts says whether two shapes have the same counts at the same rows.
func sameCounts(a, b *rewrite.Shape) bool {
	return slices.EqualFunc(a.Corners, b.Corners, func(x, y rewrite.Corner) bool { return x.Stitches == y.Stitches && x.Row == y.Row })
}

// Lists cut to the one size that was asked for are the same instructions: nothing is reworded.
func TestReviewOfOneSizeRewordsNothing(t *testing.T) {
	paths, _ := filepath.Glob("../testdata/drafts/*.md")
	looked := 0
	for _, path := range paths {
		src, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		d := readDraft(filepath.Base(path), string(src))
		for _, size := range d.Sizes {
			c, diags := rewrite.Convert(d, rewrite.Request{Sizes: []string{size}})
			if c == nil {
				t.Fatal(diags)
			}
			if n := c.Review().Tally; n.Reworded > 0 || n.Changed > 0 {
				t.Errorf("%s, size %s: %d reworded, %d changed", path, size, n.Reworded, n.Changed)
			}
			looked++
		}
	}
	if looked < 20 {
		t.Errorf("only %d sizes were looked at", looked)
	}
}

// A label that is another is told, also where nothing else is; a piece that was renamed and moved at once is the same piece; what is
// new has no old size to be held against.
func TestReviewOfARenamedPiece(t *testing.T) {
	const head = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\n```\n\n# Two\n\n"
	const pocket = "## Pocket\n\n{Cast on 12 sts}. {Work 28 rows}. {Bind off all sts}.\n\n"
	old := readDraft("old.md", head+"## Back\n\n{Cast on 90 sts | as hem}. {Work 20 rows}. {Work 8 rows}. {Bind off all sts}.\n\n"+pocket)
	now := readDraft("new.md", head+pocket+"## Back and front\n\n{Cast on 90 sts | as edge}. {Work 20 rows}. {Increase to 96 sts evenly}. {Work 8 rows}. {Bind off all sts}.\n\n")
	r := rewrite.Review(old, now)
	if n := r.Tally; n.Renamed != 1 || n.Added != 1 || n.Dropped != 0 || n.Pieces != 1 {
		t.Errorf("%+v", n)
	}
	each(r, func(m *rewrite.MarkPair) {
		if m.Renamed() && (m.WasName != "hem" || m.Name != "edge") {
			t.Errorf("%q became %q", m.WasName, m.Name)
		}
		for _, n := range m.Numbers {
			if strings.Contains(n.Why, "asks for sts") || strings.Contains(n.Why, "asks for rows") {
				t.Errorf("%s: %s", m.Label, n.Why)
			}
		}
	})
}
