package mark_test

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/grammar"
	"gaugewright/rewrite/mark"
)

var (
	misses = flag.String("misses", "", "list what was missed and what was marked wrongly in this part of the labelled texts: open, held or fresh")
	words  = flag.Bool("words", false, "list every label of the old patterns with its words, for review")
)

// What a mark has to be, to be right: it covers the same numbers as the label, and it is of the same kind. Verbs, articles and
// what an instruction is for may stand inside the brace or outside ({to 14 in} and {work to 14 in} are both right), so the edges
// are not compared otherwise. Where there are no numbers ("bind off"), the two must overlap. What is said in ⟦?…⟧ counts neither way.

// alike lists kinds that are equally right for one instruction.
var alike = [][2]string{
	{"until", "work"}, {"until", "shape"}, {"until", "repeat"}, // where it stops, rather than how often
	{"ending", "bind off"},                             // both end the piece
	{"spelled out", "evenly"}, {"spelled out", "work"}, // (k8, k2tog) 10 times: its words or what comes of it
	{"layout", "statement"}, // a sum of parts is a count that is said
}

// The least each set may score. They are what was reached when they were set, rounded down: a change that falls below them
// has made marking worse. What is aimed at is printed beside.
var floors = map[string]struct{ precision, recall float64 }{
	"modern, open":  {0.979, 0.942},
	"modern, held":  {0.968, 0.898},
	"modern, fresh": {0.978, 0.911},
	"old, open":     {0.926, 0.802},
	"old, held":     {0.891, 0.786},
}

func TestModernScore(t *testing.T) {
	for _, half := range []string{"open", "held", "fresh"} {
		t.Run(half, func(t *testing.T) { score(t, "modern, "+half, readPassages(t, half), 0.98, 0.95, *misses == half) })
	}
}

func TestOldScore(t *testing.T) {
	for _, half := range []string{"open", "held"} {
		t.Run(half, func(t *testing.T) {
			texts := readOld(t, half)
			if *words {
				for _, p := range texts {
					listWords(t, p)
				}
			}
			score(t, "old, "+half, texts, 0.95, 0.75, *misses == half)
		})
	}
}

// once keeps what marking made of a text, for several tests look at it.
var once = map[string]outcome{}

type outcome struct {
	marking  *mark.Marking
	problems grammar.Diagnostics
}

func markedOnce(name string, text []byte) (*mark.Marking, grammar.Diagnostics) {
	o, done := once[name]
	if !done {
		o.marking, o.problems = mark.Mark(name, text)
		once[name] = o
	}
	return o.marking, o.problems
}

// tally counts instructions of one kind.
type tally struct{ labelled, recalled, marked, right int }

func (a tally) String() string {
	return fmt.Sprintf("precision %s, recall %s", ratio(a.right, a.marked), ratio(a.recalled, a.labelled))
}

func ratio(part, whole int) string {
	if whole == 0 {
		return "    – (0/0)"
	}
	return fmt.Sprintf("%.3f (%d/%d)", float64(part)/float64(whole), part, whole)
}

func score(t *testing.T, set string, texts []labelled, precision, recall float64, show bool) {
	t.Helper()
	by := map[string]*tally{}
	of := func(kind string) *tally {
		if by[kind] == nil {
			by[kind] = &tally{}
		}
		return by[kind]
	}
	for _, p := range texts {
		m, problems := markedOnce(p.name, p.text)
		if m == nil {
			t.Errorf("%s cannot be marked: %v", p.name, problems)
			for _, l := range p.labels {
				for _, s := range l {
					of(s.kinds[0]).labelled++
				}
			}
			continue
		}
		if show {
			t.Logf("== %s", p.name)
		}
		c := compare(p, m.Found)
		for i, l := range p.labels {
			for j, s := range l {
				a := of(s.kinds[0])
				a.labelled++
				if c.recalled[i][j] {
					a.recalled++
				} else if show {
					t.Logf("%s: missed %s", place(p.text, s.start), quoted(s.kinds[0], p.text[s.start:s.end]))
				}
			}
		}
		for i, f := range m.Found {
			switch c.verdict[i] {
			case right:
				of(f.Kind).right++
				of(f.Kind).marked++
			case wrong:
				of(f.Kind).marked++
				if show {
					t.Logf("%s: marked %s", place(p.text, f.Start), quoted(f.Kind, p.text[f.Start:f.End]))
				}
			}
		}
	}
	var all tally
	for _, kind := range slices.Sorted(maps.Keys(by)) {
		a := by[kind]
		t.Logf("%-12s %v", kind, *a)
		all.labelled += a.labelled
		all.recalled += a.recalled
		all.marked += a.marked
		all.right += a.right
	}
	t.Logf("%-12s %v; aimed at: precision %.2f, recall %.2f", set, all, precision, recall)
	floor := floors[set]
	if got := float64(all.right) / float64(max(1, all.marked)); got < floor.precision {
		t.Errorf("%s: the precision is %.3f, and was %.3f", set, got, floor.precision)
	}
	if got := float64(all.recalled) / float64(max(1, all.labelled)); got < floor.recall {
		t.Errorf("%s: the recall is %.3f, and was %.3f", set, got, floor.recall)
	}
}

type verdict int

const (
	wrong verdict = iota
	right
	ignored
)

type comparison struct {
	recalled [][]bool  // label by label, segment by segment
	verdict  []verdict // mark by mark
}

// compare sets marks against labels. A mark is right where it is a label, or one or more of its segments in a row; the segments
// it is are then recalled. Every segment counts as one instruction.
func compare(p labelled, found []mark.Found) comparison {
	numbers := numbersOf(p)
	c := comparison{make([][]bool, len(p.labels)), make([]verdict, len(found))}
	for i, l := range p.labels {
		c.recalled[i] = make([]bool, len(l))
	}
	for fi, f := range found {
		at := stretch{f.Start, f.End}
		if li, from, to, ok := matching(p, numbers, at, f.Kind, c.recalled); ok {
			c.verdict[fi] = right
			for s := from; s < to; s++ {
				c.recalled[li][s] = true
			}
		} else if mayBeLeft(p, numbers, at) {
			c.verdict[fi] = ignored
		}
	}
	return c
}

func matching(p labelled, numbers []stretch, at stretch, kind string, done [][]bool) (li, from, to int, ok bool) {
	own := within(numbers, at)
	for li, l := range p.labels {
		if !at.overlaps(stretch{l[0].start, l[len(l)-1].end}) {
			continue
		}
		for from := range l {
			for to := from + 1; to <= len(l); to++ {
				run := stretch{l[from].start, l[to-1].end}
				if at.overlaps(run) && slices.Equal(own, within(numbers, run)) && isKind(kind, l[from:to]) && !slices.Contains(done[li][from:to], true) {
					return li, from, to, true
				}
			}
		}
	}
	return 0, 0, 0, false
}

// mayBeLeft says whether a mark touches only what counts neither way.
func mayBeLeft(p labelled, numbers []stretch, at stretch) bool {
	if len(within(numbers, at)) > 0 {
		return false
	}
	for _, l := range p.labels {
		if at.overlaps(stretch{l[0].start, l[len(l)-1].end}) {
			return false
		}
	}
	return slices.ContainsFunc(p.either, at.overlaps)
}

// isKind says whether a mark of that kind is right for the segments: one brace over two of them may be of either's kind.
func isKind(kind string, run label) bool {
	for _, s := range run {
		for _, w := range s.kinds {
			if kind == w || slices.Contains(alike, [2]string{kind, w}) || slices.Contains(alike, [2]string{w, kind}) {
				return true
			}
		}
	}
	return false
}

// number is a number in any spelling. `first` and `second` are left out: they point, more often than they count.
var number = regexp.MustCompile(`(?i)[0-9]+(?:[.,][0-9]+)?|[¼½¾⅓⅔⅛⅜⅝⅞]|\b(?:one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|` +
	`thirteen|fourteen|fifteen|sixteen|seventeen|eighteen|nineteen|twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety|hundred|half|quarter|` +
	`third|fourth|fifth|sixth|seventh|eighth|ninth|tenth|once|twice|thrice)\b`)

// numbersOf is every number of a text that counts: all but those in stretches that may be marked or left.
func numbersOf(p labelled) []stretch {
	var out []stretch
	for _, m := range number.FindAllIndex(p.text, -1) {
		n := stretch{m[0], m[1]}
		if !slices.ContainsFunc(p.either, n.overlaps) {
			out = append(out, n)
		}
	}
	return out
}

func within(numbers []stretch, at stretch) []stretch {
	var out []stretch
	for _, n := range numbers {
		if at.start <= n.start && n.end <= at.end {
			out = append(out, n)
		}
	}
	return out
}

func place(text []byte, at int) string {
	before := text[:at]
	return fmt.Sprintf("%d:%d", 1+bytes.Count(before, []byte("\n")), 1+len([]rune(string(before[bytes.LastIndexByte(before, '\n')+1:]))))
}

func quoted(kind string, words []byte) string {
	return kind + " {" + strings.Join(strings.Fields(string(words)), " ") + "}"
}

func listWords(t *testing.T, p labelled) {
	t.Logf("== %s", p.name)
	for _, l := range p.labels {
		for _, s := range l {
			t.Logf("%s %s", place(p.text, s.start), quoted(strings.Join(s.kinds, "|"), p.text[s.start:s.end]))
		}
	}
	for _, s := range p.either {
		t.Logf("%s %s", place(p.text, s.start), quoted("?", p.text[s.start:s.end]))
	}
}

// TestCompare holds the scoring itself to a few marks whose verdict is plain.
func TestCompare(t *testing.T) {
	p, err := readPassage("", "Then ⟦work: work to 14 in⟧, ⟦bind off: cast off 5 sts at beg of next 2 rows, ‖then 3 sts at beg of next 4 rows⟧. K2, p2 ⟦?for 6 rows⟧. ⟦ending: Bind off⟧.")
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range []struct {
		words, kind string
		verdict     verdict
	}{
		{"to 14 in", "work", right},
		{"work to 14 in", "until", right},
		{"work to 14 in", "statement", wrong},
		{"5 sts at beg of next 2 rows, then 3 sts at beg of next 4 rows", "bind off", right},
		{"cast off 5 sts at beg of next 2 rows", "bind off", right},
		{"cast off 5 sts", "bind off", wrong},
		{"then 3 sts at beg of next 4 rows", "bind off", right},
		{"K2, p2", "work", wrong},
		{"for 6 rows", "work", ignored},
		{"p2 for 6 rows", "work", wrong},
		{"Bind off", "bind off", right},
		{"Bind", "ending", right},
		{"Then", "work", wrong},
	} {
		at := bytes.Index(p.text, []byte(x.words))
		c := compare(p, []mark.Found{{Start: at, End: at + len(x.words), Kind: x.kind}})
		if at < 0 || c.verdict[0] != x.verdict {
			t.Errorf("{%s} as %s: verdict %d, want %d", x.words, x.kind, c.verdict[0], x.verdict)
		}
	}
}
