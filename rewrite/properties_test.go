package rewrite_test

import (
	"bytes"
	"fmt"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/render"
	"gaugewright/rewrite"
)

// patience is how long one conversion of a draft of two pieces may take before it counts as hanging.
const patience = 2 * time.Minute

type failer interface {
	Helper()
	Fatalf(string, ...any)
}

// told is diagnostics as a failing test prints them.
func told(f *grammar.File, ds grammar.Diagnostics) string {
	var b strings.Builder
	for _, d := range ds {
		if d.Severity < grammar.Fault {
			continue
		}
		line, column := f.Position(d.Span.Start)
		fmt.Fprintf(&b, "%d:%d %s `%s`: %s; %s; %s\n", line, column, d.Severity, f.Text(d.Span), d.Summary, d.Detail, d.WayOut)
		for _, r := range d.Related {
			fmt.Fprintf(&b, "    `%s`: %s\n", f.Text(r.Span), r.Text)
		}
	}
	return b.String()
}

// read reads a draft that must be sound: no error and no fault.
func read(t failer, src string) *dsl.Draft {
	t.Helper()
	f, ds := grammar.Parse("draft.md", []byte(src))
	if ds.Has(grammar.Fault) {
		t.Fatalf("the draft cannot be read:\n%s\n%s", told(f, ds), src)
	}
	d, more := dsl.Read(f)
	if more.Has(grammar.Fault) {
		t.Fatalf("the draft is not sound:\n%s\n%s", told(f, more), src)
	}
	return d
}

// convert converts, or gives the diagnostics of why it cannot be; those must name a place and say something.
func convert(t failer, d *dsl.Draft, r rewrite.Request) (*rewrite.Conversion, grammar.Diagnostics) {
	t.Helper()
	from := time.Now()
	c, ds := rewrite.Convert(d, r)
	if took := time.Since(from); took > patience {
		t.Fatalf("one conversion took %v:\n%s\n%s", took, asked(r), d.File.Src)
	}
	if c != nil {
		if ds.Has(grammar.Error) {
			t.Fatalf("a conversion and an error:\n%s", told(d.File, ds))
		}
		return c, nil
	}
	if !ds.Has(grammar.Error) {
		t.Fatalf("no conversion, and no reason:\n%s\n%s", asked(r), d.File.Src)
	}
	for _, x := range ds {
		if x.Summary == "" || x.Span.Start < 0 || x.Span.End > len(d.File.Src) || x.Span.End < x.Span.Start {
			t.Fatalf("a diagnostic without words or place: %+v\n%s\n%s", x, asked(r), d.File.Src)
		}
		if strings.HasPrefix(x.Summary, "these cannot all hold") && len(x.Related) == 0 {
			t.Fatalf("a contradiction names no places: %+v\n%s\n%s", x, asked(r), d.File.Src)
		}
	}
	return nil, ds
}

func asked(r rewrite.Request) string {
	var b strings.Builder
	for _, g := range r.Gauges {
		fmt.Fprintf(&b, "gauge %s: %s sts", g.Fabric, new(big.Rat).Mul(g.Gauge.Stitches, big.NewRat(10, 1)).FloatString(3))
		if g.Gauge.Rows != nil {
			fmt.Fprintf(&b, ", %s rows to 10 cm", new(big.Rat).Mul(g.Gauge.Rows, big.NewRat(10, 1)).FloatString(3))
		}
		b.WriteString("\n")
	}
	if len(r.Sizes) > 0 {
		fmt.Fprintf(&b, "sizes %v\n", r.Sizes)
	}
	for k, v := range r.Measures {
		fmt.Fprintf(&b, "%s = %s cm\n", k, v.FloatString(3))
	}
	for _, p := range r.Pins {
		fmt.Fprintf(&b, "pin %s=%v\n", p.Name, p.Value)
	}
	if r.Knitted != "" {
		fmt.Fprintf(&b, "knitted %s\n", r.Knitted)
	}
	return b.String()
}

// subject is a conversion under test.
type subject struct {
	t failer
	d *dsl.Draft
	r rewrite.Request
	c *rewrite.Conversion
	// d2 is the new draft, read.
	d2 *dsl.Draft
	// slack is how many rows a length may be read off by: where work is knitted already, its lengths are restated as finely as a
	// tape can be read, and at a fine gauge that is a row or two.
	slack int64
}

func (s *subject) fail(format string, args ...any) {
	s.t.Helper()
	diff := ""
	if s.c != nil {
		diff = string(render.Diff(s.c, "draft", "new"))
	}
	s.t.Fatalf(format+"\n%s\n%s\n--- the draft ---\n%s", append(args, asked(s.r), diff, s.d.File.Src)...)
}

func at(v *grammar.Value, target int) int64 {
	return v.Nums[min(target, len(v.Nums)-1)].Val.Num().Int64()
}

// hold asserts everything that must be true of any conversion.
func (s *subject) hold() {
	s.bytesKept()
	f, ds := grammar.Parse("new.md", s.c.New)
	if ds.Has(grammar.Fault) {
		s.fail("the new draft cannot be read:\n%s", told(f, ds))
	}
	d2, more := dsl.Read(f)
	if more.Has(grammar.Fault) {
		s.fail("the new draft is not sound:\n%s", told(f, more))
	}
	s.d2 = d2
	if hasOnly(s.d) && len(s.c.Targets) != len(s.d.Sizes) {
		s.again() // an instruction for sizes that are gone is gone too: the rest cannot be compared one by one
		return
	}
	if len(d2.Sizes) != len(s.c.Targets) || len(f.Marks) != len(s.d.File.Marks) {
		s.fail("%d sizes and %d instructions became %d and %d", len(s.c.Targets), len(s.d.File.Marks), len(d2.Sizes), len(f.Marks))
	}
	s.sameMeaning()
	s.multiples()
	s.schedules()
	s.spelled()
	s.again()
	s.patched()
}

// bytesKept: the edits lead to the new draft, and they touch nothing but the draft block and what stands in braces.
func (s *subject) bytesKept() {
	got, err := rewrite.Apply(s.d.File.Src, s.c.Edits)
	if err != nil || !bytes.Equal(got, s.c.New) {
		s.fail("the edits do not make the new draft: %v", err)
	}
	for _, e := range s.c.Edits {
		inside := e.Start >= s.d.Block.Body.Start && e.End <= s.d.Block.Body.End
		for _, m := range s.d.File.Marks {
			inside = inside || e.Start > m.Span.Start && e.End < m.Span.End || len(m.Only) > 0 && e == rewrite.Edit{Start: m.Span.Start, End: m.Span.End}
		}
		if !inside {
			s.fail("%q is put in the place of %q, which is the author's own", e.New, s.d.File.Src[e.Start:e.End])
		}
		if strings.ContainsAny(e.New, "{}`") {
			s.fail("a brace is written: %q", e.New)
		}
	}
	if s.c.Unchanged != bytes.Equal(s.d.File.Src, s.c.New) {
		s.fail("Unchanged is %v", s.c.Unchanged)
	}
}

func stage(r *dsl.Run, mark int) *dsl.Stage {
	for i := range r.Stages {
		if r.Stages[i].Mark == mark {
			return &r.Stages[i]
		}
	}
	return nil
}

// sameMeaning: read again, every instruction passes the rows and leaves the stitches that the conversion worked with.
func (s *subject) sameMeaning() {
	for size, r := range s.d2.Runs {
		v := func(q int) int64 { return s.d2.Quantities[q].Drafted[size] }
		for i, m := range s.c.Marks {
			st := stage(r, i)
			if st == nil {
				continue
			}
			if s.besides(i) {
				continue // what has been shaped by then depends on when shaping meanwhile ends
			}
			slack := int64(0)
			if work, ok := s.d2.File.Marks[i].Phrase.(*grammar.Work); ok && (work.Length != nil || work.Match != nil) {
				slack = s.slack
			}
			if rows := st.Rows.At(v); rows > m.Rows[size]+slack || rows < m.Rows[size]-slack {
				s.fail("size %d: `%s` is read as %d rows, but was worked out as %d", size, s.d2.File.Text(s.d2.File.Marks[i].PhraseSpan), rows, m.Rows[size])
			}
			if n := st.Count.At(v); n != m.After[size] {
				s.fail("size %d: after `%s` %d sts are read, but %d were worked out", size, s.d2.File.Text(s.d2.File.Marks[i].PhraseSpan), n, m.After[size])
			}
		}
	}
}

// besides says whether shaping may be running meanwhile at a mark: some was begun before it in its section.
func (s *subject) besides(i int) bool {
	for k := i; k >= 0 && s.d.File.Marks[k].Heading == s.d.File.Marks[i].Heading; k-- {
		if p, ok := s.d.File.Marks[k].Phrase.(*grammar.Shape); ok && p.Meanwhile {
			return true
		}
	}
	return false
}

// multiples: every count with a multiple or a parity meets it, by its printed number.
func (s *subject) multiples() {
	for _, m := range s.d2.File.Marks {
		for _, tie := range m.Ties {
			of, ok := tie.(*grammar.TieMultiple)
			if !ok {
				continue
			}
			var v *grammar.Value
			switch p := m.Phrase.(type) {
			case *grammar.CastOn:
				v = p.Count
			case *grammar.Statement:
				v = p.Value
			case *grammar.Join:
				v = p.Count
			case *grammar.PickUp:
				v = p.Count
			default:
				continue
			}
			for _, n := range v.Nums {
				if x := n.Val.Num().Int64() - of.Plus; ((x%of.Of)+of.Of)%of.Of != 0 {
					s.fail("%s is not a multiple of %d + %d", n.Text, of.Of, of.Plus)
				}
			}
		}
	}
}

// said is how many times the clauses of a sentence shape in a size, over how many rows, by the rules of the notation alone:
// `every k-th row n times` takes k·n rows; `on the next row and every following k-th row n times` shapes once more and takes
// 1 + k·n; `starting on the next row` begins k − 1 rows sooner. open says that the times are left to `until`.
func said(cs []*grammar.Clause, starting bool, size int) (times, rows int64, intervals []int64, open bool) {
	first := true
	for i, c := range cs {
		k := int64(c.Step)
		if c.Every != nil {
			k = at(c.Every, size)
		}
		if k == 0 || c.Kind == grammar.OneRow {
			k = 1
		}
		n := int64(1)
		switch {
		case c.Times != nil:
			n = at(c.Times, size)
		case c.Kind != grammar.OneRow:
			return 0, 0, nil, true
		}
		if c.Kind == grammar.NextAnd {
			times, rows = times+1, rows+1
			first = false
		}
		if n == 0 {
			continue
		}
		intervals = append(intervals, k)
		times, rows = times+n, rows+k*n
		if first && (starting || i == 0 && c.Kind == grammar.OnNext && k > 1) {
			rows += 1 - k
		}
		first = false
	}
	return times, rows, intervals, false
}

// schedules: the clauses printed come to the rows and, by the stitches they shape, to the times that were worked out; and the
// intervals of a straight edge differ by no more than its smallest step.
func (s *subject) schedules() {
	for i, m := range s.d2.File.Marks {
		var cs []*grammar.Clause
		starting, meanwhile := false, false
		switch p := m.Phrase.(type) {
		case *grammar.Shape:
			cs, starting, meanwhile = p.Clauses, p.Starting, p.Meanwhile
		case *grammar.Repeat:
			cs, meanwhile = p.Clauses, p.Meanwhile
		}
		if len(cs) == 0 || meanwhile || s.besides(i) {
			continue
		}
		for size := range s.c.Targets {
			times, rows, intervals, open := said(cs, starting, size)
			if open {
				continue
			}
			text := s.d2.File.Text(m.PhraseSpan)
			if rows != s.c.Marks[i].Rows[size] {
				s.fail("size %d: `%s` takes %d rows, but was worked out as %d", size, text, rows, s.c.Marks[i].Rows[size])
			}
			if p, ok := m.Phrase.(*grammar.Shape); ok && i > 0 {
				per := int64(1)
				if p.Sts != nil {
					per = at(p.Sts, size)
				}
				switch p.Where.Ends {
				case grammar.EachEnd:
					per *= 2
				case grammar.Markers:
					per *= 8 // both sides of the four corners of a yoke
				}
				if !p.Increase {
					per = -per
				}
				if was, is := s.c.Marks[i-1].After[size], s.c.Marks[i].After[size]; is-was != per*times {
					s.fail("size %d: `%s` shapes %d times, which makes %d sts of %d, but %d were worked out", size, text, times, was+per*times, was, is)
				}
			}
			if g := s.straight(i, size); g != nil && !s.unchanged(i) {
				lo, hi := int64(1<<40), int64(0)
				for _, k := range intervals {
					lo, hi = min(lo, k), max(hi, k)
				}
				if len(intervals) > 2 || len(intervals) > 0 && hi-lo > g.Step {
					s.fail("size %d: `%s` is no straight edge of step %d", size, text, g.Step)
				}
			}
		}
	}
}

func (s *subject) unchanged(i int) bool { return !s.c.Marks[i].Changed }

// straight is the one segment of a drafted schedule that is a straight edge of several clauses or one; nil for a curve.
func (s *subject) straight(i, target int) *dsl.Segment {
	for _, x := range s.d.Runs[s.c.Targets[target].Base()].Schedules {
		if x.Mark == i && len(x.Segments) == 1 && len(x.Segments[0].Clauses) == len(x.Clauses) {
			return x.Segments[0]
		}
	}
	return nil
}

// gapsOf reads a spelled-out spread, `k4, ((k2tog, k8) 9 times, k3) twice`: the plain stitches before each change, and last
// those after it.
func gapsOf(text, change string) (gaps []int64, ok bool) {
	var read func(s string) ([]string, string, bool) // the stitches of a list, one by one, and what follows it
	read = func(s string) (out []string, rest string, ok bool) {
		for {
			s = strings.TrimLeft(s, ", ")
			if s == "" || s[0] == ')' {
				return out, s, true
			}
			if s[0] == '(' {
				in, after, ok := read(s[1:])
				if !ok || after == "" {
					return nil, "", false
				}
				s = strings.TrimLeft(after[1:], " ")
				n := 2
				if strings.HasPrefix(s, "twice") {
					s = s[len("twice"):]
				} else {
					digits, more, _ := strings.Cut(s, " times")
					var err error
					if n, err = strconv.Atoi(digits); err != nil {
						return nil, "", false
					}
					s = more
				}
				for range n {
					out = append(out, in...)
				}
				continue
			}
			end := strings.IndexAny(s, ",)")
			if end < 0 {
				end = len(s)
			}
			out = append(out, strings.TrimSpace(s[:end]))
			s = s[end:]
		}
	}
	items, rest, ok := read(text)
	if !ok || rest != "" {
		return nil, false
	}
	plain := int64(0)
	for _, x := range items {
		if x == change {
			gaps = append(gaps, plain)
			plain = 0
			continue
		}
		n, err := strconv.ParseInt(strings.TrimPrefix(x, "k"), 10, 64)
		if err != nil || x[0] != 'k' {
			return nil, false
		}
		plain += n
	}
	return append(gaps, plain), true
}

// spelled: a spread that is written out uses up what is in hand and makes what is worked out, in gaps that differ by one at
// most; flat, half a gap at each end.
func (s *subject) spelled() {
	for i, m := range s.c.Marks {
		if len(m.Spelled) == 0 || i == 0 {
			continue
		}
		for size, text := range m.Spelled {
			before, after := s.c.Marks[i-1].After[size], m.After[size]
			if text == "" {
				if n := before - after; n > 0 && 2*n <= before || n < 0 && -n <= before {
					s.fail("size %d: from %d to %d sts nothing is spelled out", size, before, after)
				}
				continue
			}
			change, used, made := "k2tog", int64(2), int64(1)
			if after > before {
				change, used, made = "m1", 0, 1
			}
			gaps, ok := gapsOf(text, change)
			if !ok {
				s.fail("size %d: %q cannot be read", size, text)
			}
			n := int64(len(gaps) - 1)
			var plain int64
			for _, g := range gaps {
				plain += g
			}
			if plain+used*n != before || plain+made*n != after {
				s.fail("size %d: %q makes %d of %d sts, not %d of %d", size, text, plain+made*n, plain+used*n, after, before)
			}
			if why := uneven(gaps, stage(s.d.Runs[s.c.Targets[size].Base()], i).Flat); why != "" {
				s.fail("size %d: %q: %s", size, text, why)
			}
		}
	}
}

// uneven says what is wrong with the gaps of a spread, "" where nothing is: none differs from another by more than one; flat,
// the two ends are halves of a gap.
func uneven(gaps []int64, flat bool) string {
	n := len(gaps) - 1
	if n < 1 {
		return ""
	}
	inner := gaps[:n]
	first, last := gaps[0], gaps[n]
	if flat {
		inner = gaps[1:n]
		if d := first - last; d > 1 || d < -1 {
			return fmt.Sprintf("the ends differ: %d and %d", first, last)
		}
	} else if last != 0 {
		return "a round ends with a gap"
	}
	lo, hi := int64(1<<40), int64(0)
	for _, g := range inner {
		lo, hi = min(lo, g), max(hi, g)
	}
	if len(inner) > 0 && hi-lo > 1 {
		return fmt.Sprintf("gaps from %d to %d", lo, hi)
	}
	if flat && len(inner) > 0 && (2*first > hi+2 || 2*last > hi+2 || 2*first < lo-2 || 2*last < lo-2) {
		return fmt.Sprintf("ends of %d and %d are not half of gaps of %d to %d", first, last, lo, hi)
	}
	return ""
}

// again: asked for what it is, the new draft stays as it is.
func (s *subject) again() {
	same := rewrite.Request{}
	for _, f := range s.d2.Fabrics {
		same.Gauges = append(same.Gauges, rewrite.AskedGauge{Fabric: f.Name, Gauge: f.Gauge})
	}
	for _, r := range []rewrite.Request{{}, same, {Sizes: s.d2.Sizes}} {
		if len(s.d2.Sizes) == 1 && s.d2.Sizes[0] == "" && r.Sizes != nil {
			continue
		}
		c, ds := convert(s.t, s.d2, r)
		if c == nil {
			s.fail("the new draft cannot be converted to its own gauge:\n%s", told(s.d2.File, ds))
		}
		if !bytes.Equal(c.New, s.c.New) || !c.Unchanged {
			s.fail("the second conversion changes something:\n%s", render.Diff(c, "new", "again"))
		}
	}
	// The gauges that were asked for are those of the new draft.
	for i, f := range s.d2.Fabrics {
		if !f.Gauge.Same(s.c.Gauges[i].To) {
			s.fail("fabric %s is written as %s sts and %s rows to 1 cm, not %s and %s", f.Name, f.Gauge.Stitches, f.Gauge.Rows, s.c.Gauges[i].To.Stitches, s.c.Gauges[i].To.Rows)
		}
	}
}

var patchProgram, _ = exec.LookPath("patch")
var patchedSoFar int

// patched: the diff makes the new draft of the old; the program is asked now and then only, since starting it costs more than
// the conversion.
func (s *subject) patched() {
	diff := render.Diff(s.c, "draft.md", "draft.md")
	if (len(diff) == 0) != s.c.Unchanged {
		s.fail("an empty diff for a change, or a diff for none")
	}
	if patchedSoFar++; patchProgram == "" || len(diff) == 0 || patchedSoFar%10 != 1 {
		return
	}
	dir, err := os.MkdirTemp("", "patch")
	if err != nil {
		s.t.Fatalf("%v", err)
	}
	defer os.RemoveAll(dir)
	file := filepath.Join(dir, "draft.md")
	if err := os.WriteFile(file, s.d.File.Src, 0o600); err != nil {
		s.t.Fatalf("%v", err)
	}
	cmd := exec.Command(patchProgram, "--fuzz=0", "--binary", "--no-backup-if-mismatch", "-s", file)
	cmd.Stdin = bytes.NewReader(diff)
	if out, err := cmd.CombinedOutput(); err != nil {
		s.fail("patch: %v\n%s", err, out)
	}
	if now, err := os.ReadFile(file); err != nil || !bytes.Equal(now, s.c.New) {
		s.fail("patch makes something else: %v", err)
	}
}

func TestRandomDraftsAreSound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		read(t, makeDraft(t).src)
	})
}

// What a draft is already, it stays: its own gauge, said or not, and all its sizes leave every byte as it is.
func TestOwnGaugeChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := read(t, makeDraft(t).src)
		own := rewrite.Request{}
		for _, f := range d.Fabrics {
			own.Gauges = append(own.Gauges, rewrite.AskedGauge{Fabric: f.Name, Gauge: f.Gauge})
		}
		first := rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: d.Fabrics[0].Gauge}}}
		for _, r := range []rewrite.Request{{}, own, first} {
			c, ds := convert(t, d, r)
			if c == nil {
				t.Fatalf("cannot be converted:\n%s%s", told(d.File, ds), d.File.Src)
			}
			if !c.Unchanged || !bytes.Equal(c.New, d.File.Src) {
				t.Fatalf("%s\nchanges\n%s\nin\n%s", asked(r), render.Diff(c, "draft", "new"), d.File.Src)
			}
		}
	})
}

// request draws what a draft is to be converted to, besides pins.
func request(t *rapid.T, x *randomDraft, d *dsl.Draft) rewrite.Request {
	r := rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: askedGauge(t)}}}
	if rapid.IntRange(0, 3).Draw(t, "rib too") == 0 {
		// A rib of the same yarn lies near the main gauge.
		near := func(x *big.Rat, k int) *big.Rat {
			return new(big.Rat).Quo(new(big.Rat).SetInt(rounded(new(big.Rat).Mul(x, big.NewRat(int64(100+k)*4, 10)))), big.NewRat(40, 1))
		}
		g := askedGauge(t)
		r.Gauges[0].Gauge = g
		r.Gauges = append(r.Gauges, rewrite.AskedGauge{Fabric: "rib", Gauge: dsl.Gauge{Stitches: near(g.Stitches, rapid.IntRange(0, 15).Draw(t, "rib sts")), Rows: near(g.Rows, rapid.IntRange(-5, 15).Draw(t, "rib rows"))}})
	}
	if rapid.IntRange(0, 5).Draw(t, "rows not known") == 0 {
		r.Gauges[0].Gauge.Rows = nil
	}
	switch rapid.IntRange(0, 3).Draw(t, "whose") {
	case 0:
		if len(d.Sizes) > 1 {
			r.Sizes = []string{rapid.SampledFrom(x.sizes).Draw(t, "size")}
		}
	case 1:
		if x.chest != nil && len(d.Sizes) > 1 {
			lo, hi := int(x.chest[0]), int(x.chest[len(x.chest)-1])
			r.Measures = map[string]*big.Rat{"chest": big.NewRat(int64(rapid.IntRange(2*lo-4, 2*hi+4).Draw(t, "chest")), 2)}
		}
	}
	return r
}

func TestConversionsOfRandomDrafts(t *testing.T) {
	converted, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		x := makeDraft(t)
		d := read(t, x.src)
		r := request(t, x, d)
		c, _ := convert(t, d, r)
		if c == nil {
			refused++
			return
		}
		converted++
		(&subject{t: t, d: d, r: r, c: c}).hold()
	})
	if converted < 3*refused {
		t.Errorf("%d conversions and %d refusals: too few drafts are put to the test", converted, refused)
	}
}

// Sizes are problems of their own: one of them alone comes out as it does among all.
func TestOneSizeIsAsAmongAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := makeDraft(t)
		d := read(t, x.src)
		r := rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: askedGauge(t)}}}
		all, _ := convert(t, d, r)
		if all == nil || len(d.Sizes) == 1 {
			return
		}
		s := rapid.IntRange(0, len(d.Sizes)-1).Draw(t, "size")
		r.Sizes = []string{d.Sizes[s]}
		one, ds := convert(t, d, r)
		if one == nil {
			t.Fatalf("size %s alone cannot be converted:\n%s%s", d.Sizes[s], told(d.File, ds), d.File.Src)
		}
		for i := range all.Marks {
			a, b := all.Marks[i], one.Marks[i]
			if len(b.After) == 0 {
				continue // it is for other sizes
			}
			if a.After[s] != b.After[0] || a.Rows[s] != b.Rows[0] {
				t.Fatalf("%s\n`%s` in size %s: %d sts and %d rows among all, %d and %d alone\n%s", asked(r), d.File.Text(d.File.Marks[i].PhraseSpan), d.Sizes[s],
					a.After[s], a.Rows[s], b.After[0], b.Rows[0], d.File.Src)
			}
		}
	})
}

// A wearer who measures what a drafted size measures gets that size.
func TestWearerOfADraftedSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := makeDraft(t)
		if x.chest == nil || len(x.sizes) == 1 {
			return
		}
		d := read(t, x.src)
		g := []rewrite.AskedGauge{{Gauge: askedGauge(t)}}
		s := rapid.IntRange(0, len(d.Sizes)-1).Draw(t, "size")
		one, _ := convert(t, d, rewrite.Request{Gauges: g, Sizes: []string{d.Sizes[s]}})
		her, ds := convert(t, d, rewrite.Request{Gauges: g, Measures: map[string]*big.Rat{"chest": big.NewRat(x.chest[s], 1)}})
		if (one == nil) != (her == nil) {
			t.Fatalf("only one of size and wearer can be converted:\n%s%s", told(d.File, ds), d.File.Src)
		}
		if one == nil {
			return
		}
		for i := range one.Marks {
			if a, b := one.Marks[i], her.Marks[i]; len(a.After) != len(b.After) || len(a.After) > 0 && (a.After[0] != b.After[0] || a.Rows[0] != b.Rows[0]) {
				t.Fatalf("`%s`: %d sts and %d rows in size %s, %d and %d for a wearer of it\n%s", d.File.Text(d.File.Marks[i].PhraseSpan), a.After[0], a.Rows[0], d.Sizes[s], b.After[0], b.Rows[0], d.File.Src)
			}
		}
	})
}

// Pins are kept or refused with the places that stand against them.
func TestPinsAreKept(t *testing.T) {
	kept := 0
	rapid.Check(t, func(t *rapid.T) {
		x := makeDraft(t)
		if len(x.names) == 0 {
			return
		}
		d := read(t, x.src)
		r := rewrite.Request{}
		if rapid.Bool().Draw(t, "gauge") {
			r.Gauges = []rewrite.AskedGauge{{Gauge: askedGauge(t)}}
		}
		for range rapid.IntRange(1, 2).Draw(t, "pins") {
			name := rapid.SampledFrom(x.names).Draw(t, "pin")
			twice := false
			for _, p := range r.Pins {
				twice = twice || p.Name == name
			}
			if !twice {
				r.Pins = append(r.Pins, rewrite.Pin{Name: name, Value: []int64{int64(rapid.OneOf(rapid.IntRange(1, 120), rapid.IntRange(0, 100_000)).Draw(t, "pinned to"))}})
			}
		}
		c, _ := convert(t, d, r)
		if c == nil {
			return
		}
		kept++
		for _, p := range r.Pins {
			found := false
			for _, n := range c.Numbers {
				if n.Name != p.Name {
					continue
				}
				found = true
				for _, v := range n.To {
					if v.Cmp(big.NewRat(p.Value[0], 1)) != 0 {
						(&subject{t: t, d: d, r: r, c: c}).fail("%s is pinned to %d and comes out as %s", p.Name, p.Value[0], v)
					}
				}
			}
			if !found {
				t.Fatalf("the pinned %s is not among the numbers\n%s", p.Name, d.File.Src)
			}
		}
		(&subject{t: t, d: d, r: r, c: c}).hold()
	})
	if kept == 0 {
		t.Error("no pin was ever kept")
	}
}

// What is knitted already stays as it was: the same stitches, the same rows, and every instruction to the byte, but for a
// length, which says what those rows measure at the gauge measured now.
func TestKnittedStays(t *testing.T) {
	kept := 0
	rapid.Check(t, func(t *rapid.T) {
		x := makeDraft(t)
		if len(x.labels) == 0 {
			return
		}
		d := read(t, x.src)
		label := rapid.SampledFrom(x.labels).Draw(t, "label")
		r := rewrite.Request{Gauges: []rewrite.AskedGauge{{Gauge: askedGauge(t)}}, Knitted: label, KnittedAsDrafted: rapid.Bool().Draw(t, "the tension changed")}
		c, _ := convert(t, d, r)
		if c == nil {
			return
		}
		kept++
		upto := -1
		for i, m := range d.File.Marks {
			for _, tie := range m.Ties {
				if a, ok := tie.(*grammar.TieAs); ok && a.Name.Text == label {
					upto = i
				}
			}
		}
		for i := range upto {
			m := d.File.Marks[i]
			for size := range c.Targets {
				st := stage(d.Runs[size], i)
				v := func(q int) int64 { return d.Quantities[q].Drafted[size] }
				if st != nil && !(&subject{d: d}).besides(i) && (c.Marks[i].After[size] != st.Count.At(v) || c.Marks[i].Rows[size] != st.Rows.At(v)) {
					(&subject{t: t, d: d, r: r, c: c}).fail("`%s` lies before %s and comes to %d sts and %d rows", d.File.Text(m.PhraseSpan), label, c.Marks[i].After[size], c.Marks[i].Rows[size])
				}
			}
			length := false
			grammar.Values(m.Phrase, func(v *grammar.Value) { length = length || v.Unit.IsLength() })
			switch m.Phrase.(type) {
			case *grammar.Amount, *grammar.GaugeSaid:
				continue // yarn and gauge speak of the whole
			}
			if c.Marks[i].Changed && !length {
				(&subject{t: t, d: d, r: r, c: c}).fail("`%s` lies before %s and changes", d.File.Text(m.PhraseSpan), label)
			}
		}
		s := &subject{t: t, d: d, r: r, c: c, slack: 3}
		s.halfWay()
		if !r.KnittedAsDrafted {
			s.hold() // else the new draft says one gauge where two are knitted
		}
	})
	if kept == 0 {
		t.Error("nothing was ever knitted")
	}
}

// halfWay: what is told of knitted work agrees with itself. Each place to go back to mends something, the last of them all that
// is missed, and nothing is undone that is not knitted.
func (s *subject) halfWay() {
	h := s.c.HalfWay
	if h == nil || len(h.Sizes) != len(s.c.Targets) {
		s.fail("nothing is told of what is knitted")
	}
	for t, r := range h.Sizes {
		for _, x := range r.Done {
			if x.Mark >= h.Mark {
				s.fail("%s is told as done and is not", x.Name)
			}
		}
		for _, b := range r.Back {
			rows := int64(0)
			for mark := b.Mark; mark < h.Mark; mark++ {
				rows += s.c.Marks[mark].Rows[t]
			}
			switch {
			case b.Mark >= h.Mark || b.Undo < 0 || b.More < 0 || b.Undo > 0 && b.More > 0 || b.Undo > rows:
				s.fail("going back to %d of %d undoes %d of %d rows and adds %d", b.Mark, h.Mark, b.Undo, rows, b.More)
			case len(b.Mends) == 0:
				s.fail("going back to %d mends nothing", b.Mark)
			}
		}
		if n := len(r.Back); n > 0 && len(r.Back[n-1].Left) > 0 && !r.GaveUp {
			s.fail("going back as far as one can leaves %v", r.Back[n-1].Left)
		}
	}
}

// The spread of any changes over any stitches.
func TestGapsOfAnySpread(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Int64Range(0, 500).Draw(t, "stitches")
		n := rapid.Int64Range(1, 120).Draw(t, "changes")
		flat := rapid.Bool().Draw(t, "flat")
		gaps := rewrite.Gaps(total, n, flat)
		var sum int64
		for _, g := range gaps {
			if g < 0 {
				t.Fatalf("a negative gap: %v", gaps)
			}
			sum += g
		}
		if sum != total || int64(len(gaps)) != n+1 {
			t.Fatalf("%d gaps of %d in all: %v", len(gaps), sum, gaps)
		}
		if why := uneven(gaps, flat); why != "" {
			t.Fatalf("%s: %v", why, gaps)
		}
	})
}

// Parts share a count out to the last stitch, each within two of its proportion.
func TestPartsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOfN(rapid.Int64Range(1, 90), 1, 8).Draw(t, "parts")
		total := rapid.Int64Range(int64(len(parts)), 600).Draw(t, "total")
		got := rewrite.ShareOut(total, parts)
		var sum, was int64
		for i := range parts {
			sum += got[i]
			was += parts[i]
		}
		if sum != total || len(got) != len(parts) {
			t.Fatalf("%v is not %d", got, total)
		}
		for i := range parts {
			off := new(big.Rat).Sub(big.NewRat(got[i], 1), big.NewRat(total*parts[i], was))
			if off.Abs(off).Cmp(big.NewRat(2, 1)) > 0 {
				t.Fatalf("%d of %v is far from its share of %d: %v", i, parts, total, got)
			}
		}
	})
}

// What cannot be met is refused, and the refusal shows the places that stand against one another.
func TestContradictionsNameTheirPlaces(t *testing.T) {
	const top = "```draft\nfabric main: 20 sts and 28 rows to 10 cm\nback = 40 cm\n```\n\n"
	coarse := []rewrite.AskedGauge{{Gauge: dsl.Gauge{Stitches: big.NewRat(1, 1), Rows: big.NewRat(1, 1)}}}
	for _, k := range []struct {
		name, text string
		r          rewrite.Request
		places     []string // what the related places must hold among them
	}{
		{"a pin against a multiple", "{Cast on 80 sts | back, multiple of 4, as back sts}. {Bind off all sts}.",
			rewrite.Request{Pins: []rewrite.Pin{{Name: "back sts", Value: []int64{82}}}}, []string{"Cast on 80 sts"}},
		{"two pins against a sum", "{Cast on 80 sts | as wide}. {Bind off 5 sts at the beginning of the next 2 rows}. {Decrease 10 sts evenly | fixed}. {60 sts | as narrow}. {Bind off all sts}.",
			rewrite.Request{Pins: []rewrite.Pin{{Name: "wide", Value: []int64{40}}, {Name: "narrow", Value: []int64{100}}}}, []string{"Cast on 80 sts", "60 sts"}},
		{"shaping that fits in no length", "{Cast on 80 sts | fixed}. {Decrease 1 st at each end of every row 20 times | fixed}: {40 sts | fixed}. {Work to 12 cm}. {Bind off all sts}.",
			rewrite.Request{Gauges: coarse}, []string{"Work to 12 cm", "Decrease 1 st at each end of every row 20 times"}},
		{"meanwhile that fits beside nothing", "{Cast on 80 sts}. {Work 40 rows | fixed, as side}. {Meanwhile decrease 1 st at each end of every 2nd row 18 times | fixed}. {44 sts | as left}. {Bind off all sts}.",
			rewrite.Request{Pins: []rewrite.Pin{{Name: "left", Value: []int64{90_000}}}}, []string{"44 sts"}},
	} {
		t.Run(k.name, func(t *testing.T) {
			d := read(t, top+k.text+"\n")
			c, ds := convert(t, d, k.r)
			if c != nil {
				t.Fatalf("it can be converted:\n%s", c.New)
			}
			said := ""
			for _, x := range ds {
				said += d.File.Text(x.Span) + "\n"
				for _, r := range x.Related {
					said += d.File.Text(r.Span) + "\n"
				}
			}
			for _, p := range k.places {
				if !strings.Contains(said, p) {
					t.Errorf("`%s` is not shown:\n%s", p, told(d.File, ds))
				}
			}
		})
	}
}
