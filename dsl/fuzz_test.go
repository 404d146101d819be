package dsl_test

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// FuzzRead: whatever the source, reading it neither panics nor hangs. It gives a draft or an error, never both or neither;
// every diagnostic stands at a place of the source and says something; the draft has a number for each size wherever it says
// it has; and it is read the same way twice.
func FuzzRead(f *testing.F) {
	count := 0
	for _, pattern := range []string{"../testdata/drafts/*.md", "../testdata/broken/*.md", "../grammar/testdata/drafts/*.md"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			f.Fatalf("%s: nothing found: %v", pattern, err)
		}
		for _, name := range names {
			src, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(src)
			count++
		}
	}
	for _, text := range []string{
		"{cast on 98 (106, 114) sts | back, multiple of 4 + 2, as back}. {work 18 rows in rib}. {work to 38 cm}. {bind off all sts}.",
		"{cast on 20 sts}. {decrease 1 st at each end of the next row | as decrease row}. {repeat the decrease row every 4th row 5 more times}. {bind off 8 sts}.",
		"{cast on 20 sts}. {repeat the last 2 rows 11 more times}. {turn 3 sts before the end, 4 times}. {hold all sts as a}. {join a: 20 sts}. {graft 10 sts}.",
		"{pick up 3 sts for every 4 rows of a}. {resume a}. {work right a as left a}. {divide into 10 sts as b, 10 sts as c}. {join 20 sts}.",
		"{cast on 40 sts}. {24 sts as shoulder + 16 sts}. {increase 1 st each side of each marker every 2nd row 3 times}. {panel of 8 sts in rib after 4 sts}. {end panel}.",
		"{cast on 40 sts}. {decrease 1 st in every 4}. {increase or decrease evenly to 44 sts, spelled out}. {meanwhile increase 1 st at the neck edge every 2nd row 4 times, starting 5 cm after a}.",
	} {
		f.Add([]byte("```draft\nfabric main: 20 sts and 28 rows to 10 cm\nfabric rib: 22 sts and 30 rows to 10 cm\nsizes: S (M, L)\nback = 49 (53, 57) cm\n```\n\n" + text + "\n"))
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 20_000 {
			return
		}
		from := time.Now()
		file, before := grammar.Parse("draft.md", src)
		d, ds := dsl.Read(file)
		if took := time.Since(from); took > 20*time.Second {
			t.Fatalf("reading took %v:\n%s", took, src)
		}
		if (d == nil) != ds.Has(grammar.Error) {
			t.Fatalf("a draft and an error, or neither: %v", ds)
		}
		for _, x := range ds {
			if x.Summary == "" || x.Span.Start < 0 || x.Span.End < x.Span.Start || x.Span.End > len(src) {
				t.Fatalf("a diagnostic without words or place: %+v", x)
			}
			for _, r := range x.Related {
				if r.Span.Start < 0 || r.Span.End < r.Span.Start || r.Span.End > len(src) {
					t.Fatalf("a related place outside the draft: %+v", x)
				}
			}
		}
		again, _ := grammar.Parse("draft.md", src)
		if _, same := dsl.Read(again); !reflect.DeepEqual(ds, same) {
			t.Fatalf("read twice, it says\n%v\nand\n%v", ds, same)
		}
		if d == nil || before.Has(grammar.Error) {
			return
		}
		if len(d.Runs) != len(d.Sizes) || len(d.Fabrics) == 0 {
			t.Fatalf("%d sizes, %d of them worked, in %d fabrics", len(d.Sizes), len(d.Runs), len(d.Fabrics))
		}
		for size, r := range d.Runs {
			v := func(q int) int64 {
				if x := d.Quantities[q]; size < len(x.Drafted) {
					return x.Drafted[size]
				}
				t.Fatalf("%s has no number for size %d", d.Quantities[q].Role, size)
				return 0
			}
			for _, s := range r.Stages {
				s.Count.At(v)
				if rows := s.Rows.At(v); rows < 0 {
					t.Fatalf("`%s` takes %d rows", file.Text(file.Marks[s.Mark].PhraseSpan), rows)
				}
			}
			if ds.Has(grammar.Fault) {
				continue
			}
			// A draft without a fault meets every relation that a conversion will hold it to.
			for _, rel := range r.Relations {
				x, holds := rel.Expr.At(v), true
				switch rel.Kind {
				case dsl.Zero:
					holds = x == 0
				case dsl.AtLeast:
					holds = x >= 0
				case dsl.Multiple:
					holds = x%rel.Mod == 0
				}
				if !holds {
					t.Fatalf("sound, but `%s` does not hold: %d in size %d", rel.Why, x, size)
				}
			}
			for i := range r.Scores {
				if sc := &r.Scores[i]; sc.Cm(v, d.DraftedGauges()) == nil {
					t.Fatal("a score without a size")
				}
			}
		}
	})
}
