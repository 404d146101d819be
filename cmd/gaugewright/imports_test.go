package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// TestImportOrder keeps the one way through the program: form, meaning, change, view, and the command that joins them.
// A folder imports only what stands before it; the solver of whole numbers knows nothing of knitting.
func TestImportOrder(t *testing.T) {
	order := []string{"gaugewright/grammar", "gaugewright/dsl", "gaugewright/rewrite", "gaugewright/rewrite/mark", "gaugewright/render", "gaugewright/cmd/gaugewright"}
	leaf := "gaugewright/rewrite/whole"
	rank := map[string]int{leaf: -1}
	for i, path := range order {
		rank[path] = i
	}
	// What only the command may touch: the outside.
	outside := map[string]bool{"os": true, "os/exec": true, "io/ioutil": true, "log": true, "log/slog": true, "net": true, "net/http": true, "syscall": true, "path/filepath": true}

	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "gaugewright/...").Output()
	if err != nil {
		var exit *exec.ExitError
		if errors.As(err, &exit) {
			t.Fatalf("go list: %v\n%s", err, exit.Stderr)
		}
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for dec := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := dec.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		seen[p.ImportPath] = true
		mine, known := rank[p.ImportPath]
		if !known {
			t.Errorf("%s has no place in the order of packages", p.ImportPath)
			continue
		}
		for _, i := range p.Imports {
			if outside[i] && p.ImportPath != order[len(order)-1] {
				t.Errorf("%s imports %s: only the command touches the outside", p.ImportPath, i)
			}
			if !strings.HasPrefix(i, "gaugewright/") {
				continue
			}
			if i == leaf && p.ImportPath != "gaugewright/rewrite" {
				t.Errorf("%s imports %s, which is there for gaugewright/rewrite alone", p.ImportPath, i)
			}
			if theirs, known := rank[i]; !known || p.ImportPath == leaf || theirs >= mine {
				t.Errorf("%s imports %s, which does not stand before it", p.ImportPath, i)
			}
		}
	}
	for path := range rank {
		if !seen[path] {
			t.Errorf("go list does not know %s", path)
		}
	}
}
