//go:build unix

package render_test

import (
	"bytes"
	"errors"
	"os"
	"runtime"
	"runtime/debug"
	"slices"
	"syscall"
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

// spent is time by the clock and time of the processors, the collector's included.
type spent struct{ clock, processor time.Duration }

func (s spent) plus(t spent) spent { return spent{s.clock + t.clock, s.processor + t.processor} }

// stopwatch tells what was spent since it was last asked.
type stopwatch struct {
	at time.Time
	cp time.Duration
}

func (w *stopwatch) lap() spent {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	now, cp := time.Now(), time.Duration(u.Utime.Nano()+u.Stime.Nano())
	s := spent{now.Sub(w.at), cp - w.cp}
	w.at, w.cp = now, cp
	return s
}

// stages is one whole conversion, each of its stages timed; the last is changes.html, which is none of the five outputs.
func stages(b *testing.B, src []byte, r rewrite.Request) (took [5]spent) {
	var w stopwatch
	w.lap()
	f, bad := grammar.Parse("second-best.md", src)
	took[0] = w.lap()
	d, more := dsl.Read(f)
	if bad.Has(grammar.Error) || more.Has(grammar.Error) {
		b.Fatal(bad, more)
	}
	took[1] = w.lap()
	c, faults := rewrite.Convert(d, r)
	if faults.Has(grammar.Error) {
		b.Fatal(faults)
	}
	took[2] = w.lap()
	o := render.Options{}
	var fails [2]error
	five := [...]func(){ // the first of them, the draft, is there already
		func() { _, fails[0] = render.Page(c, o) },
		func() { render.ReadingCopy(c, o) },
		func() { _, fails[1] = render.ChangesJSON(c) },
		func() { render.Diff(c, "old", "new") },
	}
	dsl.SideBySide(len(five), func(i int) { five[i]() })
	if err := errors.Join(fails[:]...); err != nil {
		b.Fatal(err)
	}
	took[3] = w.lap()
	render.ReviewPage(c.Review(), o)
	took[4] = w.lap()
	return took
}

// BenchmarkConvert reports, besides its time, how many times goldmark's time the whole and each stage take, in time of the
// processors, so that a machine that is busy with other things hardly matters; and by the clock, `clock/goldmark`, where the
// twentieth of the rounds counts that was disturbed least. `first/goldmark` is the first conversion in the process, in which parsers
// and templates are made and memory is asked for that later ones use again.
func BenchmarkConvert(b *testing.B) {
	debug.SetGCPercent(400) // as the command does
	src, r := largest(b), asked(b)
	md := goldmark.New(goldmark.WithExtensions(extension.GFM))
	var out bytes.Buffer
	first := total(stages(b, src, r))
	var plain, five spent
	var each [5]spent
	var plainly, wholly []time.Duration
	b.ReportAllocs()
	for b.Loop() {
		var w stopwatch
		w.lap()
		out.Reset()
		if err := md.Convert(src, &out); err != nil {
			b.Fatal(err)
		}
		t := w.lap()
		took := stages(b, src, r)
		for i := range took {
			each[i] = each[i].plus(took[i])
		}
		plain, five = plain.plus(t), five.plus(total(took))
		plainly, wholly = append(plainly, t.clock), append(wholly, total(took).clock)
	}
	times := func(s spent) float64 { return float64(s.processor) / float64(plain.processor) }
	for i, name := range []string{"parse/goldmark", "read/goldmark", "rewrite/goldmark", "render/goldmark", "changes-page/goldmark"} {
		b.ReportMetric(times(each[i]), name)
	}
	b.ReportMetric(times(five), "five/goldmark")
	b.ReportMetric(times(first)*float64(b.N), "first/goldmark")
	b.ReportMetric(undisturbed(wholly)/undisturbed(plainly), "clock/goldmark")
	b.ReportMetric(undisturbed(wholly)/1e6, "ms/draft")
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.Sys)/1e6, "MB")
}

// total is that of the five outputs.
func total(took [5]spent) (five spent) {
	for _, x := range took[:4] {
		five = five.plus(x)
	}
	return five
}

// undisturbed is what one in twenty stays below.
func undisturbed(x []time.Duration) float64 {
	slices.Sort(x)
	return float64(x[len(x)/20])
}
