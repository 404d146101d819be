package rewrite_test

import (
	"bytes"
	"fmt"
	"math/big"
	"sync"
	"testing"

	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// TestOneDraftManyGauges converts one draft to several gauges at once: what is kept with the draft must give the same bytes as
// a draft read anew for each. Run under the race detector it also shows that nothing kept is changed.
func TestOneDraftManyGauges(t *testing.T) {
	tell := func(d *dsl.Draft, sts, rows int64) ([]byte, string) {
		g := dsl.Gauge{Stitches: big.NewRat(sts, 10), Rows: big.NewRat(rows, 10)}
		c, bad := rewrite.Convert(d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: g}}})
		if c == nil {
			return nil, fmt.Sprint(bad)
		}
		return c.New, fmt.Sprint(c.Nodes, c.Proven, c.Warnings, c.Assumptions, c.Numbers, c.Marks)
	}
	for name, src := range shipped(t) {
		shared := read(t, src)
		var all sync.WaitGroup
		for k := range int64(4) {
			all.Go(func() {
				text, told := tell(shared, 17+2*k, 26+k)
				wantText, wantTold := tell(read(t, src), 17+2*k, 26+k)
				if !bytes.Equal(text, wantText) || told != wantTold {
					t.Errorf("%s at %d stitches: a draft converted to several gauges gives another result than one read anew", name, 17+2*k)
				}
			})
		}
		all.Wait()
	}
}

// BenchmarkFurtherGauge is what the second and each further gauge of a draft costs, and `first` what one of a draft read anew does.
func BenchmarkFurtherGauge(b *testing.B) {
	src := shipped(b)["second-best.md"]
	convert := func(d *dsl.Draft) {
		g := dsl.Gauge{Stitches: big.NewRat(19, 10), Rows: big.NewRat(27, 10)}
		if c, bad := rewrite.Convert(d, rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: g}}}); c == nil {
			b.Fatal(bad)
		}
	}
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			convert(read(b, src))
		}
	})
	b.Run("further", func(b *testing.B) {
		d := read(b, src)
		convert(d)
		for b.Loop() {
			convert(d)
		}
	})
}
