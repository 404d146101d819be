package dsl

import (
	"os"
	"testing"

	"gaugewright/grammar"
)

// BenchmarkRead is the time that it takes to work the largest draft, all sizes, once it is parsed.
func BenchmarkRead(b *testing.B) {
	src, err := os.ReadFile("../testdata/drafts/second-best.md")
	if err != nil {
		b.Fatal(err)
	}
	f, diags := grammar.Parse("second-best.md", src)
	if diags.Has(grammar.Error) {
		b.Fatal(diags)
	}
	b.ReportAllocs()
	for b.Loop() {
		if d, diags := Read(f); d == nil {
			b.Fatal(diags)
		}
	}
}
