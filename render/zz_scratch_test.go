package render
import ("testing";"os";"path/filepath")
func TestScratch(t *testing.T){
 out:=os.Getenv("SCRATCH"); if out=="" {t.Skip()}
 for n,src:=range drafts(t){ t.Run(n,func(t *testing.T){ c:=grown(t,n,src); c.Assumptions=[]string{"The fabric rib was not swatched: it is taken to change as main does, to 22.5 sts and 27 rows to 10 cm."}; c.Cautions=[]string{"Cords at the neck can catch."}
 p,err:=Page(c,Options{}); if err!=nil{t.Fatal(err)}
 os.WriteFile(filepath.Join(out,n+".html"),p,0o666)
 os.WriteFile(filepath.Join(out,n),ReadingCopy(c,Options{}),0o666)
 })}
}
