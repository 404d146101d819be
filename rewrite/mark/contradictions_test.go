package mark_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
	"gaugewright/rewrite/mark"
)

// Where the printed arithmetic of the old patterns fails, recomputed by whoever collected them: the lines in which it does, and
// the numbers that a report of it has to name, what is printed and what it comes to.
var contradictions = []struct {
	file, what string
	from, to   int
	numbers    []string
}{
	{"05-childs-set-no1-hood-scarf-sweater.txt", "the hood is worked for half as many ribs as stitches, but 80 sts get 35 ribs", 5, 15, []string{"35", "40"}},
	{"05-childs-set-no1-hood-scarf-sweater.txt", "two fronts of 65 + 13 - 42 sts meet a back of 60", 23, 34, []string{"72", "60"}},
	{"12-knee-cap-1918.txt", "26 + 23 + 23 + 42 are to be 35 on each of three needles", 16, 22, []string{"114", "105"}},
	{"26-gentlemans-knickerbocker-stocking.txt", "112 less 16 are to be 94", 21, 23, []string{"96", "94"}},
	{"30-muffatees.txt", "a rib of 3 and 3 in the round on 63, and on 64", 8, 23, []string{"6"}},
	{"43-under-spencer.txt", "52 and 8 increases are to be 61", 37, 46, []string{"60", "61"}},
	{"45-double-knitted-night-sock-1843.txt", "25 + 38 + 25 sts are taken where 75 are left", 18, 22, []string{"88", "75"}},
	{"52-army-socks-1864-misprinted.txt", "27 on each of three needles are split into 20, 20 and 40", 7, 7, []string{"80", "81"}},
	{"55-steering-gloves-two-needles-1915.txt", "the second row 34 times more, and then row 37", 7, 8, []string{"36", "37"}},
}

// Chains of counts that do come out as printed, with their lines: a fault reported there is a false alarm. (Rows 7 and 8 of the
// gloves of 1915 are one of the contradictions.)
var soundChains = []struct {
	file     string
	from, to int
}{
	{"04-winter-girl-gloves.txt", 7, 54},
	{"08-ladies-sweater-belted.txt", 26, 28},
	{"14-red-cross-sleeveless-sweater.txt", 7, 11},
	{"15-red-cross-service-sock.txt", 6, 50},
	{"17-red-cross-helmet-two-parts.txt", 9, 28},
	{"22-high-bodice.txt", 8, 46},
	{"49-childs-sock-beeton.txt", 8, 22},
	{"51-army-socks-1861.txt", 5, 5},
	{"55-steering-gloves-two-needles-1915.txt", 9, 30},
}

// What was reached when these were set; wanted are 7 of the 9 at least, and no false alarm.
const (
	fewestFound      = 5
	mostFalseAlarms  = 0
	mostUnread       = 0 // sound chains whose text cannot be checked at all once it is marked
	contradictionAim = 7
)

// TestContradictions marks the old patterns, checks what comes of it, and looks for the faults that are there and for none that
// are not.
func TestContradictions(t *testing.T) {
	if _, err := os.Stat(corpus); err != nil {
		t.Skipf("the old patterns are not beside this repository: %v", err)
	}
	reports := map[string][]report{}
	of := func(file string) []report {
		if _, done := reports[file]; !done {
			src, err := os.ReadFile(filepath.Join(corpus, file))
			if err != nil {
				t.Fatal(err)
			}
			reports[file] = checkMarked(t, file, src)
		}
		return reports[file]
	}
	found := 0
	for _, x := range contradictions {
		hit := slices.IndexFunc(of(x.file), func(r report) bool {
			return (r.severity == grammar.Warning || r.severity == grammar.Fault) && r.touches(x.from, x.to) && r.names(x.numbers)
		})
		if hit < 0 {
			t.Logf("not found: %s: %s", x.file, x.what)
			continue
		}
		found++
		t.Logf("found:     %s: %s\n    %v", x.file, x.what, of(x.file)[hit])
	}
	alarms, unread := 0, 0
	for _, x := range soundChains {
		if at := slices.IndexFunc(of(x.file), func(r report) bool { return r.severity == grammar.Error }); at >= 0 {
			unread++
			t.Logf("cannot be checked: %s: %v", x.file, of(x.file)[at])
			continue
		}
		for _, r := range of(x.file) {
			if r.severity == grammar.Fault && x.from <= r.lines[0] && r.lines[0] <= x.to {
				alarms++
				t.Logf("false alarm: %s: %v", x.file, r)
			}
		}
	}
	t.Logf("%d of %d contradictions are found, wanted %d; %d false alarms on %d sound chains, wanted none; %d of them cannot be checked",
		found, len(contradictions), contradictionAim, alarms, len(soundChains), unread)
	if found < fewestFound {
		t.Errorf("%d contradictions are found, and were %d", found, fewestFound)
	}
	if unread > mostUnread {
		t.Errorf("%d sound chains cannot be checked, and were %d", unread, mostUnread)
	}
	if alarms > mostFalseAlarms {
		t.Errorf("%d false alarms, and were %d", alarms, mostFalseAlarms)
	}
}

// The modern passages come out as written (only some say less than all, and one word is no instruction), so that a fault
// reported in one of them is mostly a misreading. These are the most passages with a fault, or that cannot be checked, by half.
var mostFaulty = map[string]struct{ faults, unread int }{
	"open":  {0, 0},
	"held":  {3, 0},
	"fresh": {5, 0},
}

func TestModernFaults(t *testing.T) {
	for _, half := range []string{"open", "held", "fresh"} {
		passages := readPassages(t, half)
		faulty, unread := 0, 0
		for _, p := range passages {
			reports := checkMarked(t, p.name, p.text)
			show := func(gravest grammar.Severity) int {
				n := 0
				for _, r := range reports {
					if r.severity == gravest {
						n++
						if *misses == half {
							t.Logf("%s: %v", p.name, r)
						}
					}
				}
				return min(n, 1)
			}
			unread += show(grammar.Error)
			faulty += show(grammar.Fault)
		}
		t.Logf("%s: %d of %d passages get a fault once they are marked, %d cannot be checked; aimed at: none", half, faulty, len(passages), unread)
		if most := mostFaulty[half]; faulty > most.faults || unread > most.unread {
			t.Errorf("%s: %d passages get a fault and %d cannot be checked; these were %d and %d", half, faulty, unread, most.faults, most.unread)
		}
	}
}

// report is a diagnostic with its lines in the text before marking: its own first, then those of what it is related to.
type report struct {
	severity grammar.Severity
	lines    []int
	text     string
}

func (r report) String() string { return fmt.Sprintf("%v at line %v: %s", r.severity, r.lines, r.text) }

func (r report) touches(from, to int) bool {
	return slices.ContainsFunc(r.lines, func(l int) bool { return from <= l && l <= to })
}

func (r report) names(numbers []string) bool {
	said := regexp.MustCompile(`[0-9]+`).FindAllString(r.text, -1)
	return !slices.ContainsFunc(numbers, func(n string) bool { return !slices.Contains(said, n) })
}

// checkMarked marks a text and checks the marked text as the command does.
func checkMarked(t *testing.T, name string, src []byte) []report {
	t.Helper()
	m, problems := markedOnce(name, src)
	if m == nil {
		t.Errorf("%s cannot be marked: %v", name, problems)
		return nil
	}
	parsed, all := grammar.Parse(name, m.New)
	if !all.Has(grammar.Error) {
		draft, faults := dsl.Read(parsed)
		all = append(all, faults...)
		if !faults.Has(grammar.Error) {
			notes, _ := rewrite.Check(draft)
			all = append(all, notes...)
		}
	}
	line := func(at int) int {
		return 1 + bytes.Count(src[:before(m.Inserted, at)], []byte("\n"))
	}
	var out []report
	for _, d := range all {
		r := report{severity: d.Severity, lines: []int{line(d.Span.Start)}}
		text := []string{d.Summary, d.Detail}
		for _, rel := range d.Related {
			r.lines = append(r.lines, line(rel.Span.Start))
			text = append(text, rel.Text)
		}
		r.text = strings.TrimSpace(strings.Join(text, "; "))
		out = append(out, r)
	}
	return out
}

// before is where a place in the marked text was before marking.
func before(inserted []mark.Insert, at int) int {
	for _, i := range inserted {
		if at < i.At {
			break
		}
		at -= min(len(i.Text), at-i.At)
	}
	return at
}
