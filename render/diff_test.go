package render

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"gaugewright/dsl"
	"gaugewright/grammar"
	"gaugewright/rewrite"
)

func edited(old string, edits []rewrite.Edit) *rewrite.Conversion {
	return &rewrite.Conversion{Draft: &dsl.Draft{File: &grammar.File{Src: []byte(old)}}, Edits: edits, New: applyEdits([]byte(old), edits)}
}

func replace(start, end int, by string) rewrite.Edit {
	return rewrite.Edit{Start: start, End: end, New: by}
}

// applied applies a unified diff by its own rules: every line it names must be where it says.
func applied(old string, diff []byte) (string, error) {
	if len(diff) == 0 {
		return old, nil
	}
	src := lines(old)
	in := lines(string(diff))
	if len(in) < 3 || !strings.HasPrefix(in[0], "--- ") || !strings.HasPrefix(in[1], "+++ ") {
		return "", fmt.Errorf("no head")
	}
	in = in[2:]
	var out []string
	at := 0
	for len(in) > 0 {
		var of, on, nf, nn int
		head := in[0]
		in = in[1:]
		var err error
		parse := func(s string) (from, n int) {
			a, b, ok := strings.Cut(s, ",")
			n = 1
			if ok {
				n, err = strconv.Atoi(b)
			}
			from, e := strconv.Atoi(a)
			if e != nil {
				err = e
			}
			if n > 0 {
				from--
			}
			return from, n
		}
		f := strings.Fields(head)
		if len(f) != 4 || f[0] != "@@" || f[3] != "@@" {
			return "", fmt.Errorf("bad head of a hunk: %q", head)
		}
		of, on = parse(f[1][1:])
		nf, nn = parse(f[2][1:])
		if err != nil {
			return "", err
		}
		if of < at {
			return "", fmt.Errorf("hunks overlap at %d", of)
		}
		out = append(out, src[at:of]...)
		at = of
		if len(out) != nf {
			return "", fmt.Errorf("%q: the new text is at line %d", head, len(out))
		}
		for on > 0 || nn > 0 {
			if len(in) == 0 || in[0] == "" {
				return "", fmt.Errorf("a hunk ends early")
			}
			sign, l := in[0][0], in[0][1:]
			in = in[1:]
			if len(in) > 0 && strings.HasPrefix(in[0], "\\") {
				l = strings.TrimSuffix(l, "\n")
				in = in[1:]
			}
			if sign != '+' {
				if at >= len(src) || src[at] != l {
					return "", fmt.Errorf("line %d is not %q", at+1, l)
				}
				at++
				on--
			}
			if sign != '-' {
				out = append(out, l)
				nn--
			}
		}
	}
	return strings.Join(append(out, src[at:]...), ""), nil
}

var diffCases = []struct {
	name, old string
	edits     []rewrite.Edit
}{
	{"nothing", "a\nb\n", nil},
	{"one line", "a\nb\nc\n", []rewrite.Edit{replace(2, 3, "B")}},
	{"two in a line", "cast on 98 sts\n", []rewrite.Edit{replace(0, 4, "Cast"), replace(8, 10, "90")}},
	{"no final newline", "a\nb 1", []rewrite.Edit{replace(4, 5, "2")}},
	{"no final newline in context", "a 1\nb\nc", []rewrite.Edit{replace(2, 3, "2")}},
	{"newline gained", "a", []rewrite.Edit{replace(1, 1, "\n")}},
	{"newline lost", "a\n", []rewrite.Edit{replace(1, 2, "")}},
	{"lines joined", "a\nb\nc\n", []rewrite.Edit{replace(1, 2, " ")}},
	{"lines joined twice", "a\nb\nc\nd\n", []rewrite.Edit{replace(1, 2, " "), replace(3, 4, " ")}},
	{"CRLF", "a 1\r\nb\r\nc 2\r\n", []rewrite.Edit{replace(2, 3, "3")}},
	{"from nothing", "", []rewrite.Edit{replace(0, 0, "a\nb\n")}},
	{"to nothing", "a\nb\n", []rewrite.Edit{replace(0, 4, "")}},
	{"at the end", "a\n", []rewrite.Edit{replace(2, 2, "b\n")}},
	{"two hunks", strings.Repeat("x\n", 10) + "1\n" + strings.Repeat("x\n", 10) + "2\n" + strings.Repeat("x\n", 10), []rewrite.Edit{replace(20, 21, "one"), replace(42, 43, "two")}},
	{"hunks that touch", "1\n" + strings.Repeat("x\n", 6) + "2\n", []rewrite.Edit{replace(0, 1, "one"), replace(14, 15, "two")}},
	{"hunks one apart", "1\n" + strings.Repeat("x\n", 7) + "2\n", []rewrite.Edit{replace(0, 1, "one"), replace(16, 17, "two")}},
	{"a line more", "a\nb\nc\n", []rewrite.Edit{replace(2, 2, "new\n")}},
	{"a line less", "a\nb\nc\n", []rewrite.Edit{replace(2, 4, "")}},
}

func TestDiffIsApplied(t *testing.T) {
	patch, err := exec.LookPath("patch")
	if err != nil {
		t.Log("there is no patch program here: only the applier of the test is asked")
	}
	for _, k := range diffCases {
		t.Run(k.name, func(t *testing.T) {
			c := edited(k.old, k.edits)
			byPatch(t, patch, c)
		})
	}
	for name, src := range drafts(t) {
		t.Run(name, func(t *testing.T) {
			byPatch(t, patch, grown(t, name, src))
			byPatch(t, patch, grown(t, name, bytes.ReplaceAll(src, []byte("\n"), []byte("\r\n"))))
			byPatch(t, patch, grown(t, name, bytes.TrimRight(src, "\n")))
		})
	}
}

func byPatch(t *testing.T, patch string, c *rewrite.Conversion) {
	t.Helper()
	old := string(c.Draft.File.Src)
	d := Diff(c, "draft.md", "draft.md")
	if (len(d) == 0) != (old == string(c.New)) {
		t.Fatalf("an empty diff for a change, or a diff for none:\n%s", d)
	}
	got, err := applied(old, d)
	if err != nil || got != string(c.New) {
		t.Fatalf("%v\n%q is not\n%q by\n%s", err, got, c.New, d)
	}
	if patch == "" || len(d) == 0 {
		return
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "draft.md")
	if err := os.WriteFile(file, []byte(old), 0o666); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(patch, "--fuzz=0", "--no-backup-if-mismatch", "-s", file)
	cmd.Stdin = bytes.NewReader(d)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("patch: %v\n%s\n%s", err, out, d)
	}
	now, err := os.ReadFile(file)
	if os.IsNotExist(err) {
		now, err = nil, nil // patch takes away a file that becomes empty
	}
	if err != nil || !bytes.Equal(now, c.New) {
		t.Fatalf("patch made\n%q of\n%q, not\n%q, by\n%s", now, old, c.New, d)
	}
}

func TestDiffOfEditsThatDoNotLeadThere(t *testing.T) {
	c := edited("a\nb\nc\n", []rewrite.Edit{replace(2, 3, "B")})
	c.Edits = []rewrite.Edit{replace(4, 9, "x"), replace(0, 1, "y")}
	if got, err := applied("a\nb\nc\n", Diff(c, "x", "y")); err != nil || got != "a\nB\nc\n" {
		t.Errorf("%q, %v", got, err)
	}
}

func TestDiffNames(t *testing.T) {
	for in, want := range map[string]string{"a.md": "a.md", "my draft.md": "my draft.md\t", "a\"b": `"a\"b"`, "a\nb": `"a\012b"`} {
		if got := fileName(in); got != want {
			t.Errorf("%q becomes %q, not %q", in, got, want)
		}
	}
}

func TestLongDiffCostsNoMoreThanItsLength(t *testing.T) {
	var b strings.Builder
	var edits []rewrite.Edit
	for i := 0; b.Len() < 4<<20; i++ {
		if i%50 == 0 {
			edits = append(edits, rewrite.Edit{Start: b.Len(), End: b.Len() + 1, New: "1"})
		}
		b.WriteString("0 a line of prose that is as long as lines of prose are\n")
	}
	c := edited(b.String(), edits)
	if got, err := applied(b.String(), Diff(c, "x", "y")); err != nil || got != string(c.New) {
		t.Fatal(err)
	}
}

func TestDiffOfAnyEdits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old := rapid.StringOfN(rapid.SampledFrom([]rune("ab\n\r1é𝄞")), 0, 60, -1).Draw(t, "old")
		var edits []rewrite.Edit
		for at := 0; at <= len(old) && len(edits) < 8; {
			from := rapid.IntRange(at, len(old)).Draw(t, "from")
			to := rapid.IntRange(from, min(len(old), from+6)).Draw(t, "to")
			edits = append(edits, rewrite.Edit{Start: from, End: to, New: rapid.StringOfN(rapid.SampledFrom([]rune("ab\n1é")), 0, 6, -1).Draw(t, "new")})
			at = to + rapid.IntRange(0, 9).Draw(t, "gap")
			if rapid.Bool().Draw(t, "stop") {
				break
			}
		}
		c := edited(old, edits)
		d := Diff(c, "x", "y")
		got, err := applied(old, d)
		if err != nil || got != string(c.New) {
			t.Fatalf("%v: %q\n%s", err, got, d)
		}
	})
}

func FuzzDiff(f *testing.F) {
	for _, k := range diffCases {
		if len(k.edits) > 0 {
			e := k.edits[0]
			f.Add(k.old, uint(e.Start), uint(e.End), e.New, uint(len(k.old)), uint(len(k.old)), "")
		}
	}
	f.Fuzz(func(t *testing.T, old string, a, b uint, x string, c, d uint, y string) {
		n := uint(len(old)) + 1
		a, b, c, d = a%n, b%n, c%n, d%n
		if a > b || b > c || c > d {
			return
		}
		k := edited(old, []rewrite.Edit{replace(int(a), int(b), x), replace(int(c), int(d), y)})
		diff := Diff(k, "x", "y")
		if got, err := applied(old, diff); err != nil || got != string(k.New) {
			t.Fatalf("%v: %q is not %q by\n%s", err, got, k.New, diff)
		}
	})
}
