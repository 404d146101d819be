package rewrite

import (
	"math/big"
	"os"
	"testing"
	"time"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite/whole"
)

// BenchmarkSolversShare is how much of a conversion of the largest shipped draft, read anew, the whole numbers take: those at its
// own gauge and those at the new one, size by size.
func BenchmarkSolversShare(b *testing.B) {
	src, err := os.ReadFile("../testdata/drafts/second-best.md")
	if err != nil {
		b.Fatal(err)
	}
	r := Request{Gauges: []AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(19, 10), Rows: big.NewRat(27, 10)}}}}
	var all, solver time.Duration
	for b.Loop() {
		f, _ := grammar.Parse("second-best.md", src)
		d, _ := dsl.Read(f)
		t := time.Now()
		c, bad := Convert(d, r)
		if c == nil {
			b.Fatal(bad)
		}
		all += time.Since(t)
		for _, s := range c.solved {
			p := groundOf(d, s.target.Base())
			problems := []*whole.Problem{s.model.problem}
			if !p.plain {
				own, err := p.model()
				if err != nil {
					b.Fatal(err)
				}
				problems = append(problems, own.problem)
			}
			t = time.Now()
			for _, problem := range problems {
				if _, err := problem.Solve(whole.Budget); err != nil {
					b.Fatal(err)
				}
			}
			solver += time.Since(t)
		}
	}
	b.ReportMetric(float64(solver)/float64(all), "solver/rewrite")
}
