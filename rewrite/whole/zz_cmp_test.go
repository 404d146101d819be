package whole

import (
	"encoding/gob"
	"fmt"
	"os"
	"sort"
	"strings"
	"testing"
	"time"
)

type zRec struct {
	From string
	P    *Problem
	X    []int64
	Sum  string
	N    int
	Prov bool
	Err  string
}
type zConv struct {
	From, Hash, Diag string
	Nodes            int
}

func zLoad(f string) ([]zConv, []zRec) {
	fh, _ := os.Open(f)
	defer fh.Close()
	d := gob.NewDecoder(fh)
	var c []zConv
	var r []zRec
	if err := d.Decode(&c); err != nil {
		panic(err)
	}
	if err := d.Decode(&r); err != nil {
		panic(err)
	}
	return c, r
}

func TestZShape(t *testing.T) {
	_, recs := zLoad("/tmp/dump-base.gob")
	for _, r := range recs {
		if !strings.HasPrefix(r.From, "second-best.md [18 22 25 30]") || strings.Contains(r.From, "wearer") {
			continue
		}
		fmt.Println(r.From, "vars", len(r.P.Vars), "rules", len(r.P.Rules), "scores", len(r.P.Scores), "better", len(r.P.Better), "nodes", r.N)
		for _, g := range r.P.groups(r.P.every()) {
			if len(g.rules)+len(g.scores) == 0 {
				continue
			}
			pt, _ := r.P.part(g, false)
			h := &hunt{effort: usual(0)}
			s, _ := h.prepare(pt)
			if s == nil {
				fmt.Println("   none")
				continue
			}
			f, _ := pt.solve(usual(0), false)
			fmt.Println("   vars", len(g.vars), "rules", len(g.rules), "scores", len(g.scores), "better", len(pt.better), "cols", len(s.lat.cols), "scored", s.scored, "net", len(s.lo[0]), len(s.net.constant), "nodes", f.nodes)
		}
	}
}

func TestZCompare(t *testing.T) {
	_, recs := zLoad("/tmp/dump-base.gob")
	type cost struct {
		from string
		d    time.Duration
		n, o int
	}
	var cs []cost
	bad := 0
	var was, now int
	for _, r := range recs {
		if strings.Contains(r.From, "mittens.md pin hand sts[68") && r.From[0] == 'm' && r.N > 100000 { // slow
			continue
		}
		t0 := time.Now()
		a, err := r.P.Solve(0)
		el := time.Since(t0)
		e := ""
		if err != nil {
			e = err.Error()
		}
		if e != r.Err || err == nil && (fmt.Sprint(a.X) != fmt.Sprint(r.X) || a.Sum.RatString() != r.Sum || a.Proven != r.Prov) {
			bad++
			if bad < 10 {
				t.Errorf("%s: %v %v, was %v %v", r.From, a, err, r, r.Err)
			}
		}
		n := 0
		if a != nil {
			n = a.Nodes
		}
		was += r.N
		now += n
		cs = append(cs, cost{r.From, el, n, r.N})
	}
	sort.Slice(cs, func(i, j int) bool { return cs[i].d > cs[j].d })
	var tot time.Duration
	for i, c := range cs {
		tot += c.d
		if i < 8 {
			fmt.Println(c)
		}
	}
	fmt.Println("total", tot, len(cs), "nodes", was, "now", now, "differ", bad)
}

func zBench() []zRec {
	_, recs := zLoad("/tmp/dump-base.gob")
	var out []zRec
	for _, r := range recs {
		if strings.HasPrefix(r.From, "second-best.md [") && !strings.Contains(r.From, "wearer") && !strings.Contains(r.From, "norows") {
			out = append(out, r)
		}
	}
	return out
}

func BenchmarkZ(b *testing.B) {
	recs := zBench()
	b.ReportAllocs()
	for b.Loop() {
		for _, r := range recs {
			r.P.Solve(0)
		}
	}
	b.ReportMetric(float64(len(recs)), "problems")
}
