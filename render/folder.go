package render

import (
	"gaugewright/dsl"
	"gaugewright/rewrite"
)

// Folder is all that there is to see of a conversion, as the files of a folder: the new draft, the copy to knit from and its page,
// what changed as a diff, a page and data, and a sheet for each size. name is the draft's in the diff.
func Folder(c *rewrite.Conversion, o Options, name string) ([]Output, error) {
	files := []Output{
		{Path: "draft.md", Text: c.New},
		{Path: "pattern.md"},
		{Path: "pattern.html"},
		{Path: "changes.diff"},
		{Path: "changes.html"},
		{Path: "changes.json"},
	}
	var sheets []Output
	var faults [2]error
	made := [...]func(){ // what takes longest first
		func() { files[2].Text, faults[0] = Page(c, o) },
		func() { files[4].Text = ReviewPage(c.Review(), o) },
		func() { sheets = Schematics(c, o) },
		func() { files[1].Text = ReadingCopy(c, o) },
		func() { files[5].Text, faults[1] = ChangesJSON(c) },
		func() { files[3].Text = Diff(c, name, name) },
	}
	dsl.SideBySide(len(made), func(i int) { made[i]() })
	for _, err := range faults {
		if err != nil {
			return nil, err
		}
	}
	return append(files, sheets...), nil
}
