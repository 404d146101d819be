package whole

import (
	"errors"
	"math/big"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// Two general-purpose integer solvers that know nothing of lattices are given the same problems, and their values are judged by
// the exact sum. Neither is part of the build: without them the test is skipped, unless GAUGEWRIGHT_OUTSIDE=1 asks for it.
func TestOutsideSolvers(t *testing.T) {
	for _, solver := range []struct {
		name string
		run  func(t *testing.T, dir string) (values map[string]string, feasible bool)
	}{{"glpsol", runGLPK}, {"cbc", runCBC}} {
		t.Run(solver.name, func(t *testing.T) {
			if _, err := exec.LookPath(solver.name); err != nil {
				if os.Getenv("GAUGEWRIGHT_OUTSIDE") == "1" {
					t.Fatalf("%s is not installed, and GAUGEWRIGHT_OUTSIDE=1 asks for it", solver.name)
				}
				t.Skipf("%s is not installed (set GAUGEWRIGHT_OUTSIDE=1 to make this a failure)", solver.name)
			}
			contradictions, answers := 0, 0
			for seed := range uint64(60) {
				p := outsideProblem(seed)
				a, err := p.Solve(0)
				var c *Contradiction
				if err != nil && !errors.As(err, &c) {
					t.Fatalf("problem %d: %v", seed, err)
				}
				dir := t.TempDir()
				f, e := os.Create(filepath.Join(dir, "p.lp"))
				if e != nil {
					t.Fatal(e)
				}
				var known []int64
				if a != nil && seed%2 == 0 {
					known = a.X
				}
				if e := p.WriteLP(f, known); e != nil {
					t.Fatalf("problem %d: %v", seed, e)
				}
				if e := f.Close(); e != nil {
					t.Fatal(e)
				}
				values, feasible := solver.run(t, dir)
				if feasible != (err == nil) {
					t.Fatalf("problem %d: %s says feasible: %v, we say %v", seed, solver.name, feasible, err)
				}
				if !feasible {
					contradictions++
					continue
				}
				answers++
				x := make([]int64, len(p.Vars))
				for i, name := range p.lpNames() {
					if v, ok := values[name]; ok {
						if x[i], e = strconv.ParseInt(v, 10, 64); e != nil {
							t.Fatal(e)
						}
					}
				}
				if r, ok := p.Satisfies(x); !ok {
					t.Fatalf("problem %d: its values %v break rule %d", seed, x, r)
				}
				if p.Sum(x).Cmp(a.Sum()) != 0 {
					t.Fatalf("problem %d: %s found the sum %v at %v, we %v at %v", seed, solver.name, p.Sum(x), x, a.Sum(), a.X)
				}
			}
			if contradictions == 0 || answers < 20 {
				t.Fatalf("%d contradictions and %d answers: too few to tell anything", contradictions, answers)
			}
		})
	}
}

type seedSource struct{ r *rand.Rand }

func (s seedSource) pick(lo, hi int) int { return lo + s.r.IntN(hi-lo+1) }

// outsideProblem is a small random problem, or a chain of shapings at a random gauge.
func outsideProblem(seed uint64) *Problem {
	r := rand.New(rand.NewPCG(seed, 7))
	if seed%3 == 0 {
		return smallProblem(seedSource{r})
	}
	p := pullover(1+int(seed%2), 14+r.Int64N(20), 18+r.Int64N(25))
	for i := range p.Vars {
		p.Vars[i].Hi = min(p.Vars[i].Hi, 150)
	}
	if seed%7 == 0 {
		p.Rules = append(p.Rules, Rule{Kind: Equal, Terms: []Term{{0, 1}}, Const: -(50 + r.Int64N(30))})
	}
	return p
}

func TestOutsideProblemsAreNotTrivial(t *testing.T) {
	nodes := 0
	for seed := range uint64(60) {
		if a, err := outsideProblem(seed).Solve(0); err == nil {
			nodes += a.Nodes
		}
	}
	if nodes < 150 {
		t.Fatalf("only %d nodes in all", nodes)
	}
}

func runGLPK(t *testing.T, dir string) (map[string]string, bool) {
	t.Helper()
	file, result := filepath.Join(dir, "p.lp"), filepath.Join(dir, "p.out")
	text, err := exec.Command("glpsol", "--lp", file, "-w", result).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	b, err := os.ReadFile(result)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	// The written solution has "j number value" for each column; names stand in the problem as it was read, in order of
	// appearance, so glpsol is asked for them.
	named, err := exec.Command("glpsol", "--lp", file, "--check", "--wfreemps", filepath.Join(dir, "p.mps")).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, named)
	}
	mps, err := os.ReadFile(filepath.Join(dir, "p.mps"))
	if err != nil {
		t.Fatal(err)
	}
	return glpkValues(t, string(b), string(mps))
}

func glpkValues(t *testing.T, solution, mps string) (map[string]string, bool) {
	t.Helper()
	var names []string
	inside := false
	for line := range strings.Lines(mps) {
		f := strings.Fields(line)
		switch {
		case strings.HasPrefix(line, "COLUMNS"):
			inside = true
		case !strings.HasPrefix(line, " "):
			inside = inside && strings.HasPrefix(line, "*")
		case inside && len(f) >= 3 && f[1] != "'MARKER'" && (len(names) == 0 || names[len(names)-1] != f[0]):
			names = append(names, f[0])
		}
	}
	values := map[string]string{}
	feasible := false
	for line := range strings.Lines(solution) {
		f := strings.Fields(line)
		switch {
		case len(f) > 4 && f[0] == "s" && f[1] == "mip":
			feasible = f[4] == "o"
			if f[4] != "o" && f[4] != "n" && f[4] != "u" {
				t.Fatalf("no decision: %s", line)
			}
		case len(f) == 3 && f[0] == "j":
			n, err := strconv.Atoi(f[1])
			if err != nil || n < 1 || n > len(names) {
				t.Fatalf("column %q", line)
			}
			values[names[n-1]] = rounded(f[2])
		}
	}
	return values, feasible
}

func runCBC(t *testing.T, dir string) (map[string]string, bool) {
	t.Helper()
	result := filepath.Join(dir, "p.out")
	text, err := exec.Command("cbc", filepath.Join(dir, "p.lp"), "ratio", "0", "allow", "0", "solve", "solution", result).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	b, err := os.ReadFile(result)
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	values := map[string]string{}
	first, rest, _ := strings.Cut(string(b), "\n")
	if !strings.HasPrefix(first, "Optimal") {
		if !strings.Contains(strings.ToLower(first), "infeasible") {
			t.Fatalf("no decision: %s\n%s", first, text)
		}
		return nil, false
	}
	for line := range strings.Lines(rest) {
		if f := strings.Fields(strings.TrimPrefix(strings.TrimSpace(line), "**")); len(f) >= 3 {
			values[f[1]] = rounded(f[2])
		}
	}
	return values, true
}

// rounded is the whole number nearest to what a solver printed, as it is within a tolerance only.
func rounded(s string) string {
	r, ok := new(big.Rat).SetString(s)
	if !ok {
		return s
	}
	return r.FloatString(0)
}
