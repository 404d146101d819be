package rewrite_test

import (
	"bytes"
	"fmt"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"gaugewright/rewrite"
)

// Every draft, at a finer, a coarser and two skewed gauges and at one in inches, in every size, is solved a second time by a
// general-purpose integer solver (GLPK; cbc where it cannot decide) that knows nothing of lattices. Its values are judged by the exact
// sums, and must be no better than ours; where they are equally good, ours must be the ones that the tie-break prefers. Neither
// solver is part of the build: without glpsol the test is skipped, unless GAUGEWRIGHT_OUTSIDE=1 asks for it.
func TestOutsideSolversOnDrafts(t *testing.T) {
	if _, err := exec.LookPath("glpsol"); err != nil {
		if os.Getenv("GAUGEWRIGHT_OUTSIDE") == "1" {
			t.Fatal("glpsol is not installed, and GAUGEWRIGHT_OUTSIDE=1 asks for it")
		}
		t.Skip("glpsol is not installed (set GAUGEWRIGHT_OUTSIDE=1 to make this a failure)")
	}
	if testing.Short() {
		t.Skip("takes minutes")
	}
	files, err := filepath.Glob(filepath.Join("..", "testdata", "drafts", "*.md"))
	if err != nil {
		t.Fatal(err)
	}
	// Our own restatements of published drafts, too: among them the worked example.
	for _, name := range []string{"back.md", "yoke.md", "service-sock.md", "fitted.md"} {
		files = append(files, filepath.Join("..", "testdata", "outside", name))
	}
	if len(files) < 9 {
		t.Fatalf("only %d drafts", len(files))
	}
	gauges := []struct {
		name           string
		stitches, rows *big.Rat // of the drafted gauge
		inches         string   // instead, a gauge in so many words
	}{
		{name: "finer", stitches: big.NewRat(13, 10), rows: big.NewRat(13, 10)},
		{name: "coarser", stitches: big.NewRat(17, 20), rows: big.NewRat(17, 20)},
		{name: "fewer rows", stitches: big.NewRat(21, 20), rows: big.NewRat(9, 10)},
		{name: "more rows", stitches: big.NewRat(19, 20), rows: big.NewRat(6, 5)},
		{name: "inches", inches: "5.5 sts and 7.25 rows to 1 in"},
	}
	type task struct {
		name   string
		c      *rewrite.Conversion
		target int
	}
	var tasks []task
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		d := sound(t, file, string(text))
		for _, g := range gauges {
			var r rewrite.Request
			if g.inches != "" {
				r.Gauges = []rewrite.AskedGauge{gaugeOption(t, g.inches)}
			} else {
				a := rewrite.AskedGauge{Text: g.name}
				own := d.Fabrics[0].Gauge
				// To two decimals over 10 cm, as a gauge is written.
				two := func(x, by *big.Rat) *big.Rat {
					n := new(big.Rat).Mul(x, by)
					n, ok := n.SetString(n.Mul(n, big.NewRat(10, 1)).FloatString(2))
					if !ok {
						t.Fatal("a gauge")
					}
					return n.Quo(n, big.NewRat(10, 1))
				}
				a.Gauge.Stitches, a.Gauge.Rows = two(own.Stitches, g.stitches), two(own.Rows, g.rows)
				r.Gauges = []rewrite.AskedGauge{a}
			}
			c, diags := rewrite.Convert(d, r)
			if c == nil {
				t.Errorf("%s, %s: %v", file, g.name, diags)
				continue
			}
			if !c.Proven {
				t.Errorf("%s, %s: not proven", file, g.name)
			}
			for i := range c.Targets {
				tasks = append(tasks, task{fmt.Sprintf("%s, %s, size %s", filepath.Base(file), g.name, c.Targets[i].Name), c, i})
			}
		}
	}
	dir := t.TempDir()
	var wait sync.WaitGroup
	var mu sync.Mutex
	solved, equal, other, terms, second := 0, 0, 0, 0, 0
	queue := make(chan int)
	for range 2 {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := range queue {
				x := tasks[i]
				same, again, n, err := solvedOutside(filepath.Join(dir, strconv.Itoa(i)), x.c, x.target)
				mu.Lock()
				switch {
				case err != nil:
					t.Errorf("%s: %v", x.name, err)
				case same:
					solved, equal = solved+1, equal+1
				default:
					solved, other = solved+1, other+1
				}
				terms += n
				if again {
					second++
				}
				mu.Unlock()
			}
		}()
	}
	for i := range tasks {
		queue <- i
	}
	close(queue)
	wait.Wait()
	t.Logf("%d of %d problems confirmed, %d sizes that are wished for; the same values in %d, others as good in %d; the second solver was asked %d times", solved, len(tasks), terms, equal, other, second)
	if second*20 > len(tasks) {
		t.Errorf("glpsol did not decide %d of %d", second, len(tasks))
	}
	if solved < 9*len(gauges) || terms < 1000 {
		t.Errorf("%d problems with %d scores: too few to tell anything", solved, terms)
	}
}

// solvedOutside has one problem solved by another program and compares the answers. same says that they are the same, again that
// a second program had to be asked.
func solvedOutside(dir string, c *rewrite.Conversion, target int) (same, again bool, terms int, err error) {
	ours := c.AnswerOf(target)
	mine, err := c.Weigh(target, ours)
	if err != nil {
		return false, again, 0, fmt.Errorf("our own answer: %w", err)
	}
	var lp bytes.Buffer
	if err := c.ModelOf(target, &lp); err != nil {
		return false, again, 0, err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return false, again, 0, err
	}
	file := filepath.Join(dir, "p.lp")
	if err := os.WriteFile(file, lp.Bytes(), 0o600); err != nil {
		return false, again, 0, err
	}
	p, err := glpk(file)
	theirs, err := inOrder(p, err, len(ours))
	var weighed *rewrite.Weighed
	if err == nil {
		weighed, err = c.Weigh(target, theirs)
	}
	if err != nil {
		// GLPK takes what is whole within 1e-5 for whole, which a rule with a large coefficient may not survive, and gives up
		// after its time. The other program is stricter.
		first := err
		again = true
		if _, e := exec.LookPath("cbc"); e != nil {
			return false, again, 0, first
		}
		p, err = cbc(file)
		if theirs, err = inOrder(p, err, len(ours)); err != nil {
			return false, again, 0, fmt.Errorf("glpsol: %w; cbc: %w", first, err)
		}
		if weighed, err = c.Weigh(target, theirs); err != nil {
			return false, again, 0, fmt.Errorf("glpsol: %w; cbc's values: %w", first, err)
		}
	}
	if len(weighed.Scores) != len(mine.Scores) {
		return false, again, 0, fmt.Errorf("%d scores against %d", len(weighed.Scores), len(mine.Scores))
	}
	if d := weighed.Sum.Cmp(mine.Sum); d != 0 {
		who := "the other program's is better"
		if d > 0 {
			who = "ours is better"
		}
		return false, again, 0, fmt.Errorf("the sum is %s at %v, ours %s at %v: %s", weighed.Sum.FloatString(9), theirs, mine.Sum.FloatString(9), ours, who)
	}
	// The sum is what its terms add up to; where the terms differ, two shapes are equally good, and the tie-break must have had
	// its say.
	total, each := new(big.Rat), new(big.Rat)
	for i := range mine.Scores {
		total.Add(total, mine.Scores[i])
		each.Add(each, weighed.Scores[i])
	}
	if total.Cmp(mine.Sum) != 0 || each.Cmp(weighed.Sum) != 0 {
		return false, again, 0, fmt.Errorf("the scores do not add up to the sum")
	}
	if slices.Compare(mine.Order, weighed.Order) < 0 {
		return false, again, 0, fmt.Errorf("equally good values are preferred: %v, not %v", theirs, ours)
	}
	same = slices.Equal(mine.Order, weighed.Order)
	if same {
		for i := range mine.Scores {
			if mine.Scores[i].Cmp(weighed.Scores[i]) != 0 {
				return false, again, 0, fmt.Errorf("score %d is %s, ours %s", i, weighed.Scores[i].RatString(), mine.Scores[i].RatString())
			}
		}
	}
	return same, again, len(mine.Scores), nil
}

// printed is what a solver printed: the value of each unknown by name. Zeros may be left out where it says so.
type printed struct {
	value map[string]string
	zeros bool
}

// inOrder puts what a solver printed in the order of the unknowns, which their names begin with: x12_….
func inOrder(p printed, err error, n int) ([]int64, error) {
	if err != nil {
		return nil, err
	}
	x, seen := make([]int64, n), 0
	for name, v := range p.value {
		digits, _, ok := strings.Cut(strings.TrimPrefix(name, "x"), "_")
		i, err := strconv.Atoi(digits)
		if !ok || err != nil || i < 0 || i >= n {
			return nil, fmt.Errorf("no unknown is called %s", name)
		}
		r, ok := new(big.Rat).SetString(v)
		if !ok {
			return nil, fmt.Errorf("%s is %q", name, v)
		}
		whole, err := strconv.ParseInt(r.FloatString(0), 10, 64) // it is whole within the solver's tolerance only
		if err != nil {
			return nil, err
		}
		x[i] = whole
		seen++
	}
	if !p.zeros && seen != n {
		return nil, fmt.Errorf("%d values were printed for %d unknowns", seen, n)
	}
	return x, nil
}

const solverSeconds = 60

// glpk is what glpsol prints of each column, by name.
func glpk(file string) (printed, error) {
	out := strings.TrimSuffix(file, ".lp") + ".out"
	text, err := exec.Command("glpsol", "--lp", file, "--tmlim", strconv.Itoa(solverSeconds), "-o", out).CombinedOutput()
	if err != nil {
		return printed{}, fmt.Errorf("glpsol: %w\n%s", err, tail(text))
	}
	b, err := os.ReadFile(out)
	if err != nil {
		return printed{}, err
	}
	if !strings.Contains(string(b), "INTEGER OPTIMAL") {
		return printed{}, fmt.Errorf("glpsol did not decide: %s", tail(text))
	}
	// The columns are listed as `number name * value bounds`, a long name on a line of its own.
	_, columns, ok := strings.Cut(string(b), "Column name")
	if !ok {
		return printed{}, fmt.Errorf("glpsol printed no columns")
	}
	found := map[string]string{}
	name := ""
	for line := range strings.Lines(columns) {
		f := strings.Fields(line)
		if len(f) == 0 && len(found) > 0 {
			break
		}
		if len(f) >= 2 {
			if _, err := strconv.Atoi(f[0]); err == nil && f[1] != "*" {
				name, f = f[1], f[2:]
			}
		}
		if name != "" && len(f) >= 2 && f[0] == "*" {
			if strings.HasPrefix(name, "x") {
				found[name] = f[1]
			}
			name = ""
		}
		if name != "" && len(f) >= 1 && !strings.HasPrefix(name, "x") {
			name = "" // a square: not a whole number
		}
	}
	return printed{found, false}, nil
}

// cbc is what cbc prints of each column that is not 0, by name.
func cbc(file string) (printed, error) {
	out := strings.TrimSuffix(file, ".lp") + ".cbc"
	text, err := exec.Command("cbc", file, "ratio", "0", "allow", "0", "integerTolerance", "1e-9", "seconds", strconv.Itoa(solverSeconds), "solve", "solution", out).CombinedOutput()
	if err != nil {
		return printed{}, fmt.Errorf("cbc: %w\n%s", err, tail(text))
	}
	b, err := os.ReadFile(out)
	if err != nil {
		return printed{}, err
	}
	if !strings.HasPrefix(string(b), "Optimal") {
		return printed{}, fmt.Errorf("cbc did not decide: %s", tail(text))
	}
	found := map[string]string{}
	for line := range strings.Lines(string(b)) {
		if f := strings.Fields(strings.TrimPrefix(strings.TrimSpace(line), "**")); len(f) >= 3 && strings.HasPrefix(f[1], "x") {
			found[f[1]] = f[2]
		}
	}
	return printed{found, true}, nil
}

func tail(b []byte) string {
	if len(b) > 300 {
		b = b[len(b)-300:]
	}
	return string(b)
}
