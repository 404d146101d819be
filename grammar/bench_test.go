package grammar

import (
	"strings"
	"testing"
)

// BenchmarkMark is the time that one marked instruction takes in a draft, Markdown included.
func BenchmarkMark(b *testing.B) {
	src := []byte(preamble + strings.Repeat("{Decrease 2 sts every 9th (8th, 7th) round 12 (13, 15) times in rib}; {46 (48, 50) sts} remain.\n\n", 500))
	b.SetBytes(int64(len(src)))
	b.ResetTimer()
	for range b.N {
		Parse("bench", src)
	}
	b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(b.N)/1000, "µs/mark")
}

func BenchmarkDraft(b *testing.B) {
	for name, src := range readDrafts(b) {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(src)))
			for range b.N {
				Parse(name, src)
			}
		})
	}
}
