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

// byMark is the index of a solved size, made at its first use. Of several entries for a mark (a twin works it again) the first
// one counts.
func (s *solved) byMark() *index {
	if s.index != nil {
		return s.index
	}
	x := &index{schedule: map[int]*dsl.Schedule{}, steps: map[int]*dsl.Steps{}, stage: map[int]*dsl.Stage{}, strip: map[int]*dsl.Strip{},
		length: map[int]int{}, height: map[int]int{}, score: map[int]int{}, of: map[int][]int{}, relation: map[int][]int{}}
	for _, sc := range s.run.Schedules {
		first(x.schedule, sc.Mark, sc)
	}
	for _, st := range s.run.Steps {
		first(x.steps, st.Mark, st)
	}
	for i := range s.run.Stages {
		first(x.stage, s.run.Stages[i].Mark, &s.run.Stages[i])
	}
	for i := range s.run.Strips {
		first(x.strip, s.run.Strips[i].Mark, &s.run.Strips[i])
	}
	for i := range s.run.Lengths {
		first(x.length, s.run.Lengths[i].Length, i)
	}
	for i := range s.run.Heights {
		first(x.height, s.run.Heights[i].Quantity, i)
	}
	for i := range s.run.Scores {
		if t := s.run.Scores[i].Tie; t >= 0 {
			first(x.score, t, i)
		}
	}
	for i := range s.run.Scores {
		sc := &s.run.Scores[i]
		x.of[sc.Mark] = append(x.of[sc.Mark], i)
		if e := sc.Expr; len(e.Terms) == 1 && e.Const == 0 && e.Terms[0].Coef == 1 {
			first(x.score, e.Terms[0].Quantity, i)
		}
	}
	for i := range s.run.Relations {
		m := s.run.Relations[i].Mark
		x.relation[m] = append(x.relation[m], i)
	}
	s.index = x
	return x
}

func first[T any](m map[int]T, key int, value T) {
	if _, taken := m[key]; !taken {
		m[key] = value
	}
}
