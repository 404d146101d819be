package mark_test

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

// The texts by which marking is judged were labelled by hand, one half to work with (open) and one that is only scored (held).
// A later set of modern passages (fresh) was labelled when the rules stood already, by somebody who had read neither them nor what they mark.
//
// A modern passage (testdata/marking/open, held and fresh, *.md) carries its labels: ⟦kind: words⟧ is what a careful designer would
// put in braces, ⟦kind|kind: words⟧ where two kinds are equally right, ⟦?words⟧ what may be marked or left, ‖ a place where one
// brace may be two (‖kind: if the second is of another kind). The text that is marked is the file without these signs.
//
// A label on an old pattern (*.labels) is a place and a kind, for the text itself is not ours: the first line names the file and
// its SHA-256, then each line has `line:column-line:column kind`, columns in characters from 1, the end one past the last;
// several stretches with commas between are one instruction that may be cut there (with kinds of their own after semicolons, if they
// differ), and the kind `?` may be marked or left, like the first line, which says where the text was found.

type stretch struct{ start, end int }

func (s stretch) overlaps(o stretch) bool { return s.start < o.end && o.start < s.end }

type segment struct {
	stretch
	kinds []string // any of them is right; the first is what it is counted under
}

// label is an instruction, in one segment or in several that may have braces of their own.
type label []segment

type labelled struct {
	name   string
	text   []byte
	labels []label
	either []stretch // may be marked or left
}

const marking = "../../testdata/marking"

func readPassages(t *testing.T, half string) []labelled {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(marking, half, "*.md"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no passages in %s: %v", half, err)
	}
	var out []labelled
	for _, name := range files {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		p, err := readPassage(filepath.Base(name), string(src))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out = append(out, p)
	}
	return out
}

var kindSaid = regexp.MustCompile(`^[a-z |]+: ?`)

// readPassage takes the labels out of a passage.
func readPassage(name, src string) (labelled, error) {
	p := labelled{name: name}
	var current label // the label that is open; nil outside
	var either []int  // where the stretches that may be left were opened
	kinds := func(i int) ([]string, int) {
		m := kindSaid.FindString(src[i:])
		return strings.Split(strings.TrimRight(m, ": "), "|"), i + len(m)
	}
	for i := 0; i < len(src); {
		r, n := utf8.DecodeRuneInString(src[i:])
		at := len(p.text)
		switch {
		case r == '⟦' && strings.HasPrefix(src[i+n:], "?"):
			either = append(either, at)
			i += n + 1
		case r == '⟦':
			if current != nil || len(either) > 0 {
				return p, fmt.Errorf("a label opens inside another at %q", src[i:min(i+30, len(src))])
			}
			k, next := kinds(i + n)
			if k[0] == "" {
				return p, fmt.Errorf("no kind at %q", src[i:min(i+30, len(src))])
			}
			current = label{{stretch{start: at}, k}}
			i = next
		case r == '‖':
			if current == nil {
				return p, fmt.Errorf("a cut outside a label at %q", src[i:min(i+30, len(src))])
			}
			last := &current[len(current)-1]
			last.end = at
			k, next := kinds(i + n)
			if k[0] == "" {
				k = last.kinds
			}
			current = append(current, segment{stretch{start: at}, k})
			i = next
		case r == '⟧' && len(either) > 0:
			last := len(either) - 1
			p.either = append(p.either, stretch{either[last], at})
			either = either[:last]
			i += n
		case r == '⟧':
			if current == nil {
				return p, fmt.Errorf("a label closes that was never opened, before %q", src[i:min(i+30, len(src))])
			}
			current[len(current)-1].end = at
			p.labels = append(p.labels, current)
			current = nil
			i += n
		default:
			p.text = append(p.text, src[i:i+n]...)
			i += n
		}
	}
	if current != nil || len(either) > 0 {
		return p, fmt.Errorf("a label is never closed")
	}
	return p, nil
}

// corpus is where the old patterns lie, beside the repository; a clone may lack them.
const corpus = "../../../shared/corpus"

func readOld(t *testing.T, half string) []labelled {
	t.Helper()
	if _, err := os.Stat(corpus); err != nil {
		t.Skipf("the old patterns are not beside this repository: %v", err)
	}
	files, err := filepath.Glob(filepath.Join(marking, half, "*.labels"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no labels in %s: %v", half, err)
	}
	var out []labelled
	for _, name := range files {
		src, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		p, err := readLabels(string(src))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out = append(out, p)
	}
	return out
}

// readLabels reads the labels of an old pattern, and the pattern from where it lies.
func readLabels(src string) (labelled, error) {
	var p labelled
	lines := bufio.NewScanner(strings.NewReader(src))
	lines.Scan()
	name, sum, _ := strings.Cut(lines.Text(), " ")
	text, err := os.ReadFile(filepath.Join(corpus, filepath.Base(name)))
	if err != nil {
		return p, err
	}
	if got := fmt.Sprintf("%x", sha256.Sum256(text)); got != sum {
		return p, fmt.Errorf("%s has changed since it was labelled: its SHA-256 is %s", name, got)
	}
	p.name, p.text = name, text
	p.either = append(p.either, stretch{0, bytes.IndexByte(text, '\n')})
	for n := 2; lines.Scan(); n++ {
		places, kind, ok := strings.Cut(lines.Text(), " ")
		if !ok {
			return p, fmt.Errorf("line %d: a place and a kind are wanted", n)
		}
		var l label
		of := strings.Split(kind, "; ")
		for i, place := range strings.Split(places, ",") {
			s, err := placed(text, place)
			if err != nil {
				return p, fmt.Errorf("line %d: %w", n, err)
			}
			l = append(l, segment{s, strings.Split(of[min(i, len(of)-1)], "|")})
		}
		if kind == "?" {
			p.either = append(p.either, l[0].stretch)
		} else {
			p.labels = append(p.labels, l)
		}
	}
	return p, nil
}

var placeSaid = regexp.MustCompile(`^(\d+):(\d+)-(\d+):(\d+)$`)

func placed(text []byte, place string) (stretch, error) {
	m := placeSaid.FindStringSubmatch(place)
	if m == nil {
		return stretch{}, fmt.Errorf("%q is no place", place)
	}
	var at [4]int
	for i := range at {
		at[i], _ = strconv.Atoi(m[i+1])
	}
	start, end := offset(text, at[0], at[1]), offset(text, at[2], at[3])
	if start < 0 || end <= start {
		return stretch{}, fmt.Errorf("%q lies outside the text", place)
	}
	return stretch{start, end}, nil
}

// offset is the byte at a line and a column in characters, both from 1; -1 where there is none.
func offset(text []byte, line, column int) int {
	at := 0
	for ; line > 1; line-- {
		n := bytes.IndexByte(text[at:], '\n')
		if n < 0 {
			return -1
		}
		at += n + 1
	}
	for ; column > 1; column-- {
		if at >= len(text) || text[at] == '\n' {
			return -1
		}
		_, n := utf8.DecodeRune(text[at:])
		at += n
	}
	return at
}

// The kinds of mark. A label of another name would never be found.
var kinds = strings.Split("cast on,pick up,work,shape,until,repeat,evenly,bind off,short rows,hold,resume,divide,join,statement,sizes,gauge,spelled out,ending,twin,buttonholes,layout", ",")

// TestLabels holds the labels themselves to what is promised of them: so many, of known kinds, with words in them, in order,
// and not in each other; and half and half by the fixed rule.
func TestLabels(t *testing.T) {
	total := 0
	for i, half := range []string{"held", "open"} {
		for _, p := range readPassages(t, half) {
			total += len(p.labels)
			proper(t, p)
			if number, err := strconv.Atoi(p.name[:2]); err != nil || number%2 != i {
				t.Errorf("%s does not belong in %s: odd numbers are open, even ones held", p.name, half)
			}
		}
	}
	if total < 300 {
		t.Errorf("%d instructions are labelled in the modern passages, want 300 at least", total)
	}
	t.Logf("%d instructions are labelled in the modern passages", total)
}

// TestFreshLabels holds the fresh set to the same, except that it is not halved.
func TestFreshLabels(t *testing.T) {
	total := 0
	passages := readPassages(t, "fresh")
	for _, p := range passages {
		total += len(p.labels)
		proper(t, p)
	}
	if len(passages) < 30 || total < 350 {
		t.Errorf("%d instructions are labelled in %d fresh passages, want 350 in 30 at least", total, len(passages))
	}
	t.Logf("%d instructions are labelled in %d fresh passages", total, len(passages))
}

// TestOldLabels does the same for the old patterns.
func TestOldLabels(t *testing.T) {
	total, patterns := 0, 0
	for _, half := range []string{"open", "held"} {
		for _, p := range readOld(t, half) {
			patterns++
			total += len(p.labels)
			proper(t, p)
		}
	}
	if patterns < 12 {
		t.Errorf("%d old patterns are labelled, want 12 at least", patterns)
	}
	t.Logf("%d instructions are labelled in %d old patterns", total, patterns)
}

func proper(t *testing.T, p labelled) {
	t.Helper()
	last := 0
	for _, l := range p.labels {
		for _, s := range l {
			if s.start < last || s.end <= s.start || strings.TrimSpace(string(p.text[s.start:s.end])) == "" {
				t.Errorf("%s: the label at %q is empty or out of order", p.name, p.text[s.start:min(s.start+40, len(p.text))])
			}
			last = s.end
			for _, k := range s.kinds {
				if !slices.Contains(kinds, k) {
					t.Errorf("%s: %q is no kind of mark", p.name, k)
				}
			}
		}
	}
}
