package grammar

import (
	"bytes"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
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

const largestDraft = "../testdata/drafts/second-best.md"

func largest(b *testing.B) []byte {
	src, err := os.ReadFile(largestDraft)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(src)))
	b.ReportAllocs()
	return src
}

// BenchmarkParse is the time that the largest draft takes to read, and how many times as long that is as Markdown
// alone takes to render the same bytes. The two take turns, so that a busy machine slows both alike.
func BenchmarkParse(b *testing.B) {
	src := largest(b)
	md := goldmark.New(goldmark.WithExtensions(extension.GFM))
	var parse, render turns
	for b.Loop() {
		parse.time(func() {
			if _, d := Parse(largestDraft, src); d.Has(Error) {
				b.Fatal(d)
			}
		})
		b.StopTimer()
		render.time(func() { renderMarkdown(b, md, src) })
		b.StartTimer()
	}
	b.ReportMetric(float64(parse.all)/float64(render.all), "times-goldmark")
	b.ReportMetric(float64(parse.least)/float64(render.least), "least-times-goldmark")
}

// turns is how long something took, all times together and the quickest, which a busy machine disturbs least.
type turns struct{ all, least time.Duration }

func (t *turns) time(do func()) {
	start := time.Now()
	do()
	took := time.Since(start)
	if t.all += took; t.least == 0 || took < t.least {
		t.least = took
	}
}

// BenchmarkGoldmark is the measure that BenchmarkParse is held against.
func BenchmarkGoldmark(b *testing.B) {
	src := largest(b)
	md := goldmark.New(goldmark.WithExtensions(extension.GFM))
	for b.Loop() {
		renderMarkdown(b, md, src)
	}
}

func renderMarkdown(b *testing.B, md goldmark.Markdown, src []byte) {
	var out bytes.Buffer
	if err := md.Convert(src, &out); err != nil {
		b.Fatal(err)
	}
}
