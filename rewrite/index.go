package rewrite

import "gaugewright/dsl"

// index finds what a run says of a mark or of a quantity without going through all of it each time.
type index struct {
	schedule map[int]*dsl.Schedule
	steps    map[int]*dsl.Steps
	stage    map[int]*dsl.Stage
	strip    map[int]*dsl.Strip
	length   map[int]int   // a length's quantity → its rule
	height   map[int]int   // a stated height's quantity → its place in Heights
	score    map[int]int   // a quantity → the score that its tie decides, or that is the quantity itself
	of       map[int][]int // a mark → its scores
	relation map[int][]int // a mark → its relations
}

// newIndex is the index of a run. Of several entries for a mark (a twin works it again) the first one counts.
func newIndex(run *dsl.Run) *index {
	x := &index{schedule: map[int]*dsl.Schedule{}, steps: map[int]*dsl.Steps{}, stage: map[int]*dsl.Stage{}, strip: map[int]*dsl.Strip{},
		length: map[int]int{}, height: map[int]int{}, score: map[int]int{}, of: map[int][]int{}, relation: map[int][]int{}}
	for _, sc := range run.Schedules {
		first(x.schedule, sc.Mark, sc)
	}
	for _, st := range run.Steps {
		first(x.steps, st.Mark, st)
	}
	for i := range run.Stages {
		first(x.stage, run.Stages[i].Mark, &run.Stages[i])
	}
	for i := range run.Strips {
		first(x.strip, run.Strips[i].Mark, &run.Strips[i])
	}
	for i := range run.Lengths {
		first(x.length, run.Lengths[i].Length, i)
	}
	for i := range run.Heights {
		first(x.height, run.Heights[i].Quantity, i)
	}
	for i := range run.Scores {
		if t := run.Scores[i].Tie; t >= 0 {
			first(x.score, t, i)
		}
	}
	for i := range run.Scores {
		sc := &run.Scores[i]
		x.of[sc.Mark] = append(x.of[sc.Mark], i)
		if e := sc.Expr; len(e.Terms) == 1 && e.Const == 0 && e.Terms[0].Coef == 1 {
			first(x.score, e.Terms[0].Quantity, i)
		}
	}
	for i := range run.Relations {
		m := run.Relations[i].Mark
		x.relation[m] = append(x.relation[m], i)
	}
	return x
}

func first[T any](m map[int]T, key int, value T) {
	if _, taken := m[key]; !taken {
		m[key] = value
	}
}
