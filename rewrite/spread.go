package rewrite

import (
	"fmt"
	"slices"
	"strings"

	"gaugewright/dsl"
	"gaugewright/grammar"
)

// spelled writes a spread out, one text a target.
func (w *writer) spelled(i int, m *grammar.Mark) []string {
	var out []string
	for t, s := range w.c.solved {
		st := s.index.stage[i]
		text := ""
		switch p := m.Phrase.(type) {
		case *grammar.Evenly:
			if st != nil {
				after := st.Count.At(w.at(t))
				before := after - w.evenChange(i, p, t)
				text = SpellEvenly(before, after, st.Flat)
			}
		case *grammar.Space:
			text = w.spellSpace(p, t)
		}
		out = append(out, text)
	}
	return out
}

// evenChange is what an even increase or decrease adds to the count in target t.
func (w *writer) evenChange(i int, p *grammar.Evenly, t int) int64 {
	if s := w.c.solved[t].index.strip[i]; s != nil {
		return s.To.At(w.at(t)) - s.From.At(w.at(t))
	}
	return 0
}

// Gaps spreads n changes over total stitches so that no gap differs from another by more than one: in the round n gaps,
// one before each change; flat half a gap at each end. It returns the plain stitches before each change and, last, those
// after the last one (0 in the round).
func Gaps(total, n int64, flat bool) []int64 {
	if n <= 0 {
		return []int64{total}
	}
	out := make([]int64, 0, n+1)
	var at int64
	for k := int64(1); k <= n; k++ {
		var end int64
		if flat {
			// the k-th change stands in the middle of the k-th of n equal stretches
			end = ((2*k-1)*total + n) / (2 * n)
		} else {
			end = k * total / n
		}
		out = append(out, end-at)
		at = end
	}
	return append(out, total-at)
}

// SpellEvenly writes an even increase (m1) or decrease (k2tog) over a row out: `k4, (k2tog, k8) 9 times, k2tog, k4`.
func SpellEvenly(before, after int64, flat bool) string {
	if before == after || before <= 0 {
		return ""
	}
	if after < before {
		n := before - after
		if 2*n > before {
			return "" // more than a row of k2tog can take away
		}
		return runs(Gaps(before-2*n, n, flat), "k2tog")
	}
	n := after - before
	if n > before {
		return ""
	}
	return runs(Gaps(before, n, flat), "m1")
}

// runs writes gaps and changes out, folding what repeats: `k4, (k2tog, k8) 9 times`, `(k16, m1, (k17, m1) 2 times) 4 times`.
func runs(gaps []int64, change string) string {
	last := gaps[len(gaps)-1]
	gaps = gaps[:len(gaps)-1]
	var out []string
	// Half a gap at the start of a flat row stands by itself where the rest repeats.
	best := fold1(gaps, change)
	if len(gaps) > 1 {
		if with := append(fold1(gaps[:1], change), fold1(gaps[1:], change)...); len(strings.Join(with, ", ")) < len(strings.Join(best, ", ")) {
			best = with
		}
	}
	out = append(out, best...)
	if last > 0 {
		out = append(out, fmt.Sprintf("k%d", last))
	}
	return strings.Join(out, ", ")
}

// longSpread is how long a spread may read, interleaved as evenly as can be, before its gaps are put in order instead: nobody
// follows forty terms.
const longSpread = 90

// fold1 folds a list of gaps: as the whole repeated if it has a period, else run by run; where that reads too long, with the
// gaps of each stretch in order, shorter ones first. No gap differs from another by more than one either way.
func fold1(gaps []int64, change string) []string {
	n := len(gaps)
	period := n
	for p := 1; p < n; p++ {
		if n%p != 0 {
			continue
		}
		repeats := true
		for i := p; i < n && repeats; i++ {
			repeats = gaps[i] == gaps[i-p]
		}
		if repeats {
			period = p
			break
		}
	}
	if period == 1 {
		return byRun(gaps, change)
	}
	whole := func(gaps []int64, times int) []string {
		if times == 1 {
			return byRun(gaps, change)
		}
		return []string{fmt.Sprintf("(%s) %d times", strings.Join(byRun(gaps, change), ", "), times)}
	}
	out := whole(gaps[:period], n/period)
	if len(strings.Join(out, ", ")) <= longSpread {
		return out
	}
	if n/period > 1 {
		return whole(inOrder(gaps[:period]), n/period)
	}
	// No period at all: two halves, each in order.
	return append(byRun(inOrder(gaps[:n/2]), change), byRun(inOrder(gaps[n/2:]), change)...)
}

func inOrder(gaps []int64) []int64 {
	out := append([]int64(nil), gaps...)
	slices.Sort(out)
	return out
}

func byRun(gaps []int64, change string) []string {
	var out []string
	for i := 0; i < len(gaps); {
		j := i
		for j < len(gaps) && gaps[j] == gaps[i] {
			j++
		}
		one := change
		if gaps[i] > 0 {
			one = fmt.Sprintf("k%d, %s", gaps[i], change)
		}
		if j-i > 1 {
			one = fmt.Sprintf("(%s) %d times", one, j-i)
		}
		out = append(out, one)
		i = j
	}
	return out
}

// spellSpace writes the places of buttonholes out: the plain stitches or rows between them.
func (w *writer) spellSpace(p *grammar.Space, t int) string {
	base := w.c.Targets[t].Base()
	get := func(v *grammar.Value, otherwise int64) int64 {
		if q, ok := w.d.Of(v); ok {
			if w.out[q.ID][t] != nil && w.out[q.ID][t].IsInt() {
				return w.out[q.ID][t].Num().Int64()
			}
			return q.Drafted[base]
		}
		return otherwise
	}
	n, over, each := get(p.Count, 0), get(p.Over, 0), get(p.Each, 1)
	before, after := get(p.Before, -1), get(p.After, -1)
	if n <= 0 {
		return ""
	}
	gaps := Places(n, over, each, before, after, p.EndsIncluded)
	if gaps == nil {
		return ""
	}
	unit := "rows"
	if q, ok := w.d.Of(p.Over); ok && q.Kind == dsl.Stitches {
		unit = "sts"
	}
	what := strings.TrimSuffix(p.What.Text, "s")
	var parts []string
	for i, g := range gaps {
		if i == len(gaps)-1 {
			parts = append(parts, fmt.Sprintf("%d %s", g, unit))
			break
		}
		parts = append(parts, fmt.Sprintf("%d %s, %s", g, unit, what))
	}
	return strings.Join(parts, ", ")
}

// Places spaces n things of `each` stitches or rows over a length of `over`: the plain ones before the first, between, and
// after the last. before and after are −1 where they are not given: then with ends included the first and last stand at
// the very ends, otherwise the ends get gaps like the rest. Gaps between differ by one at most. Nil where they do not fit.
func Places(n, over, each, before, after int64, endsIncluded bool) []int64 {
	plain := over - n*each
	if plain < 0 || n < 1 {
		return nil
	}
	gaps := n + 1
	fixed := int64(0)
	if endsIncluded && before < 0 {
		before = 0
	}
	if endsIncluded && after < 0 {
		after = 0
	}
	if before >= 0 {
		gaps--
		fixed += before
	}
	if after >= 0 {
		gaps--
		fixed += after
	}
	if plain < fixed {
		return nil
	}
	plain -= fixed
	if gaps == 0 {
		if n == 1 {
			return []int64{before, after + plain}
		}
		return nil
	}
	var out []int64
	if before >= 0 {
		out = append(out, before)
	}
	for k := int64(0); k < gaps; k++ {
		out = append(out, (k+1)*plain/gaps-k*plain/gaps)
	}
	if after >= 0 {
		out = append(out, after)
	}
	return out
}
