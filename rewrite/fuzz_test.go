package rewrite_test

import (
	"bytes"
	"math/big"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

// seeds are what the fuzzers begin from: the drafts of the project, those that are broken on purpose, the small pieces, and
// drafts of the maker's.
func seeds(f *testing.F) [][]byte {
	f.Helper()
	var out [][]byte
	for _, src := range shipped(f) {
		out = append(out, []byte(src))
	}
	broken, err := filepath.Glob("../testdata/broken/*.md")
	if err != nil || len(broken) == 0 {
		f.Fatalf("no broken drafts found: %v", err)
	}
	for _, name := range broken {
		b, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		out = append(out, b)
	}
	out = append(out, []byte(backDraft), []byte(sleeveDraft), []byte(hatDraft))
	maker := rapid.Custom(makeDraft)
	for seed := range 12 {
		out = append(out, []byte(maker.Example(seed).src))
	}
	return out
}

// FuzzConvert: whatever the draft and the gauge, nothing panics or hangs; what is converted from a sound draft is sound when
// read again, touches nothing outside braces and block, and its own gauge leaves it as it is.
func FuzzConvert(f *testing.F) {
	for i, src := range seeds(f) {
		f.Add(src, uint16(900+37*i), uint16(1400+53*i))
	}
	f.Fuzz(func(t *testing.T, src []byte, st, rows uint16) {
		if len(src) > 6000 {
			return
		}
		file, ds := grammar.Parse("draft.md", src)
		if ds.Has(grammar.Error) {
			return
		}
		d, more := dsl.Read(file)
		if (d == nil) != more.Has(grammar.Error) {
			t.Fatalf("a draft and an error, or neither: %s", told(file, more))
		}
		if d == nil {
			return
		}
		// 1 to 40 stitches and rows to 10 cm, in hundredths
		r := rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(int64(st%3900)+100, 1000), Rows: big.NewRat(int64(rows%3900)+100, 1000)}}}}
		c, _ := convert(t, d, r)
		own, ds := convert(t, d, rewrite.Request{})
		if more.Has(grammar.Fault) {
			return // what does not add up before need not add up after
		}
		if own == nil {
			t.Fatalf("a sound draft cannot be converted to its own gauge: %s", told(file, ds))
		}
		if !bytes.Equal(own.New, src) {
			t.Fatalf("its own gauge makes\n%s\nof\n%s", own.New, src)
		}
		if c == nil {
			return
		}
		s := &subject{t: t, d: d, r: r, c: c}
		if !hasOnly(d) {
			s.bytesKept()
		}
		again, ds := grammar.Parse("new.md", c.New)
		if ds.Has(grammar.Fault) {
			s.fail("the new draft cannot be read:\n%s", told(again, ds))
		}
		if _, ds := dsl.Read(again); ds.Has(grammar.Fault) {
			s.fail("the new draft is not sound:\n%s", told(again, ds))
		}
	})
}

// FuzzCheck: whatever can be read can be checked, in good time; every note stands at a place of the draft and says something,
// and checking twice tells the same.
func FuzzCheck(f *testing.F) {
	for _, src := range seeds(f) {
		f.Add(src)
	}
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 12000 {
			return
		}
		file, _ := grammar.Parse("draft.md", src)
		d, _ := dsl.Read(file)
		if d == nil {
			return
		}
		from := time.Now()
		notes, summary := rewrite.Check(d)
		if took := time.Since(from); took > patience {
			t.Fatalf("checking took %v:\n%s", took, src)
		}
		if summary == "" {
			t.Fatal("nothing is said of what was checked")
		}
		for _, n := range notes {
			if n.Summary == "" || n.Span.Start < 0 || n.Span.End < n.Span.Start || n.Span.End > len(src) {
				t.Fatalf("a note without words or place: %+v", n)
			}
		}
		if again, said := rewrite.Check(d); said != summary || len(again) != len(notes) {
			t.Fatalf("the second check says %q, not %q", said, summary)
		}
	})
}

// FuzzRandomDrafts lets the fuzzer, which sees the code that is reached, steer the maker.
func FuzzRandomDrafts(f *testing.F) {
	f.Fuzz(rapid.MakeFuzz(func(t *rapid.T) {
		x := makeDraft(t)
		d := read(t, x.src)
		r := request(t, x, d)
		if c, _ := convert(t, d, r); c != nil {
			(&subject{t: t, d: d, r: r, c: c}).hold()
		}
	}))
}
