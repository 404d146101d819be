package rewrite

import "gaugewright/dsl"

// index finds what a run says of a mark or of a quantity without going through all of it each time. What belongs to a mark is nil
// where there is nothing.
type index struct {
	schedule []*dsl.Schedule
	steps    []*dsl.Steps
	stage    []*dsl.Stage
	strip    []*dsl.Strip
	length   entries // a length's quantity → its rule
	height   entries // a stated height's quantity → its place in Heights
	score    entries // a quantity → the score that its tie decides, or that is the quantity itself
}

// entries is where each quantity has its entry in a list, counted from 1; 0 is none.
type entries []int32

func (e entries) of(quantity int) (place int, ok bool) { return int(e[quantity]) - 1, e[quantity] > 0 }

func (e entries) first(quantity, place int) {
	if quantity >= 0 && e[quantity] == 0 {
		e[quantity] = int32(place) + 1
	}
}

// newIndex is the index of a run. Of several entries for a mark (a twin works it again) the first one counts.
func newIndex(d *dsl.Draft, run *dsl.Run) *index {
	marks, n := len(d.File.Marks), len(d.Quantities)
	x := &index{schedule: make([]*dsl.Schedule, marks), steps: make([]*dsl.Steps, marks), stage: make([]*dsl.Stage, marks), strip: make([]*dsl.Strip, marks),
		length: make(entries, n), height: make(entries, n), score: make(entries, n)}
	for _, sc := range run.Schedules {
		firstOf(x.schedule, sc.Mark, sc)
	}
	for _, st := range run.Steps {
		firstOf(x.steps, st.Mark, st)
	}
	for i := range run.Stages {
		firstOf(x.stage, run.Stages[i].Mark, &run.Stages[i])
	}
	for i := range run.Strips {
		firstOf(x.strip, run.Strips[i].Mark, &run.Strips[i])
	}
	for i := range run.Lengths {
		x.length.first(run.Lengths[i].Length, i)
	}
	for i := range run.Heights {
		x.height.first(run.Heights[i].Quantity, i)
	}
	for i := range run.Scores {
		x.score.first(run.Scores[i].Tie, i)
	}
	for i := range run.Scores {
		if e := run.Scores[i].Expr; len(e.Terms) == 1 && e.Const == 0 && e.Terms[0].Coef == 1 {
			x.score.first(e.Terms[0].Quantity, i)
		}
	}
	return x
}

func firstOf[T any](of []*T, mark int, what *T) {
	if of[mark] == nil {
		of[mark] = what
	}
}

func first[T any](m map[int]T, key int, value T) {
	if _, taken := m[key]; !taken {
		m[key] = value
	}
}
