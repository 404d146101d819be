package render_test

import (
	"bytes"
	"os"
	"runtime"
	"testing"
	"time"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
	"gaugewright/rewrite"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
)

// The largest shipped draft, all sizes, at another gauge: the work of one `gaugewright convert --out FOLDER`, beside what
// goldmark takes to render the same file, in the same run. DEVELOPERS.md has the figures.

func largest(b *testing.B) []byte {
	src, err := os.ReadFile("../testdata/drafts/second-best.md")
	if err != nil {
		b.Fatal(err)
	}
	return src
}

func asked(b *testing.B) rewrite.Request {
	_, text, err := grammar.ParseGauge("19 sts and 27 rows to 10 cm")
	if err != nil {
		b.Fatal(err)
	}
	g, err := dsl.ReadGauge(*text)
	if err != nil {
		b.Fatal(err)
	}
	return rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: g}}}
}

// stages is one whole conversion, each of its stages timed.
func stages(b *testing.B, src []byte, r rewrite.Request, into *[4]time.Duration) {
	t := time.Now()
	lap := func(i int) {
		now := time.Now()
		into[i] += now.Sub(t)
		t = now
	}
	f, bad := grammar.Parse("second-best.md", src)
	lap(0)
	d, more := dsl.Read(f)
	if bad.Has(grammar.Error) || more.Has(grammar.Error) {
		b.Fatal(bad, more)
	}
	lap(1)
	c, faults := rewrite.Convert(d, r)
	if faults.Has(grammar.Error) {
		b.Fatal(faults)
	}
	lap(2)
	o := render.Options{}
	render.ReadingCopy(c, o)
	if _, err := render.Page(c, o); err != nil {
		b.Fatal(err)
	}
	render.Diff(c, "old", "new")
	if _, err := render.ChangesJSON(c); err != nil {
		b.Fatal(err)
	}
	render.ReviewPage(c.Review(), o)
	lap(3)
}

// BenchmarkConvert reports, besides its time, how many times goldmark's time the whole and each stage take. Both run in
// turns, so that a machine that is busy with other things slows both.
func BenchmarkConvert(b *testing.B) {
	src, r := largest(b), asked(b)
	md := goldmark.New(goldmark.WithExtensions(extension.GFM))
	var out bytes.Buffer
	var took [4]time.Duration
	stages(b, src, r, &took) // parsers and templates are made at their first use
	took = [4]time.Duration{}
	var plain time.Duration
	b.ReportAllocs()
	for b.Loop() {
		t := time.Now()
		out.Reset()
		if err := md.Convert(src, &out); err != nil {
			b.Fatal(err)
		}
		plain += time.Since(t)
		stages(b, src, r, &took)
	}
	var all time.Duration
	for i, name := range []string{"parse/goldmark", "read/goldmark", "rewrite/goldmark", "render/goldmark"} {
		all += took[i]
		b.ReportMetric(float64(took[i])/float64(plain), name)
	}
	b.ReportMetric(float64(all)/float64(plain), "all/goldmark")
	b.ReportMetric(float64(all)/float64(b.N)/1e6, "ms/draft")
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.Sys)/1e6, "MB")
}

// publish is a whole publication at the first so many gauges of a range.
func publish(b *testing.B, src []byte, gauges []rewrite.AskedGauge) {
	f, bad := grammar.Parse("second-best.md", src)
	d, more := dsl.Read(f)
	if bad.Has(grammar.Error) || more.Has(grammar.Error) {
		b.Fatal(bad, more)
	}
	at := func(g ...rewrite.AskedGauge) *rewrite.Edition {
		e, why := rewrite.Publish(d, "", rewrite.Request{Gauges: g})
		if e == nil || e.Conversion == nil {
			b.Fatal(why)
		}
		return e
	}
	var others []*rewrite.Edition
	for _, g := range gauges {
		others = append(others, at(g))
	}
	if _, err := render.Published(at(), others, time.Time{}, render.Options{}).Files(); err != nil {
		b.Fatal(err)
	}
}

// BenchmarkPublish reports what each further gauge of a publication costs, as a share of the first with all that it needs: the draft
// read, its own gauge, the index. Some gauges are harder than others, so each is the first once. All run in turns.
func BenchmarkPublish(b *testing.B) {
	src := largest(b)
	_, r, err := grammar.ParseGaugeRange("17 to 21 sts and 24 to 29 rows to 10 cm")
	if err != nil {
		b.Fatal(err)
	}
	gauges, err := rewrite.GaugeSteps(r)
	if err != nil {
		b.Fatal(err)
	}
	publish(b, src, gauges[:1])
	var alone, together time.Duration
	for b.Loop() {
		t := time.Now()
		for i := range gauges {
			publish(b, src, gauges[i:i+1])
		}
		alone += time.Since(t)
		t = time.Now()
		publish(b, src, gauges)
		together += time.Since(t)
	}
	first := float64(alone) / float64(len(gauges))
	further := (float64(together) - first) / float64(len(gauges)-1)
	b.ReportMetric(further/first, "further/first")
	b.ReportMetric(further/float64(b.N)/1e6, "ms/further")
	b.ReportMetric(first/float64(b.N)/1e6, "ms/first")
}
