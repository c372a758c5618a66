// Command compare times the bearing and shear checks of girder ends in a
// spreadsheet, the tool that most offices use for them, beside the same checks by
// this program, in one run. It writes a workbook of formulas, has LibreOffice
// recalculate it without a window, and compares every capacity.
//
// The spreadsheet's time is the difference of two conversions of the same sheet: with
// formulas, and with the values alone. What both pay for (starting, reading and
// writing the file) drops out; reading the formulas themselves stays in. The cells hold what an engineer would type: local
// yielding, local crippling at a girder's end, shear of an unstiffened web, and the
// least of them. Averaging a survey, which no such sheet does, is in neither.
package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"endcast/internal/domain/basis"
	"endcast/internal/domain/resistance"
	"endcast/internal/domain/units"
)

func main() {
	ends := flag.Int("ends", 20000, "girder ends in the sheet")
	runs := flag.Int("runs", 3, "times that each is measured; the least counts")
	flag.Parse()
	if err := compare(*ends, *runs); err != nil {
		fmt.Fprintln(os.Stderr, "compare:", err)
		os.Exit(1)
	}
}

// end is one web as it is left: mm and MPa.
type end struct{ d, tw, tf, k, n, fy, clear float64 }

func bridge(n int) []end {
	r := rand.New(rand.NewPCG(3, 5))
	out := make([]end, n)
	for i := range out {
		e := end{d: 500 + 500*r.Float64(), tw: 3 + 13*r.Float64(), tf: 12 + 20*r.Float64(), n: 100 + 200*r.Float64(), fy: 200 + 150*r.Float64()}
		e.k, e.clear = e.tf+15, e.d-2*e.tf
		out[i] = e
	}
	return out
}

// capacities are the same checks by this program.
func capacities(b basis.Basis, ends []end, out []float64) {
	for i, e := range ends {
		l, s := units.Length(1), units.Stress(1)
		y := resistance.Yielding{Fy: s * units.Stress(e.fy), Area: units.Area(e.tw * (2.5*e.k + e.n))}.Factored(nil, b)
		c := resistance.Crippling{Depth: l * units.Length(e.d), Fy: s * units.Stress(e.fy), Thickness: units.Length(e.tw), Flange: units.Length(e.tf),
			FlangeAsBuilt: units.Length(e.tf), Bearing: units.Length(e.n)}.Factored(nil, b)
		v := resistance.Shear{Depth: units.Length(e.clear), Fy: units.Stress(e.fy), Cut: units.Area(e.tw * e.clear), Thickness: units.Length(e.tw)}.Factored(nil, b)
		out[i] = float64(min(y, c, v))
	}
}

// sheet writes the workbook; without formulas it holds the values alone.
func sheet(path string, b basis.Basis, ends []end, values []float64) error {
	f := excelize.NewFile()
	defer f.Close()
	w, err := f.NewStreamWriter("Sheet1")
	if err != nil {
		return err
	}
	num := func(v float64) string { return strconv.FormatFloat(v, 'g', 17, 64) }
	modulus, phi := num(b.Value(basis.SteelModulus)), num(b.Value(basis.WebPhiCrippling))
	for i, e := range ends {
		row := i + 1
		cells := []any{e.d, e.tw, e.tf, e.k, e.n, e.fy, e.clear}
		if values != nil {
			cells = append(cells, 0.0, 0.0, 0.0, 0.0, 0.0, values[i])
		} else {
			at := func(format string) excelize.Cell {
				return excelize.Cell{Formula: fmt.Sprintf(format, row)}
			}
			cells = append(cells,
				at("F%[1]d*B%[1]d*(2.5*D%[1]d+E%[1]d)"),
				at(phi+"*0.4*B%[1]d^2*(1+IF(E%[1]d/A%[1]d<=0.2,3*E%[1]d/A%[1]d,4*E%[1]d/A%[1]d-0.2)*(B%[1]d/C%[1]d)^1.5)*SQRT("+modulus+"*F%[1]d*C%[1]d/B%[1]d)"),
				at("SQRT("+modulus+"*5/F%[1]d)"),
				at("IF(G%[1]d/B%[1]d<=1.12*J%[1]d,1,IF(G%[1]d/B%[1]d<=1.4*J%[1]d,1.12*J%[1]d/(G%[1]d/B%[1]d),1.57*J%[1]d^2/(G%[1]d/B%[1]d)^2))"),
				at("K%[1]d*0.58*F%[1]d*G%[1]d*B%[1]d"),
				at("MIN(H%[1]d,I%[1]d,L%[1]d)"))
		}
		if err := w.SetRow("A"+strconv.Itoa(row), cells); err != nil {
			return err
		}
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.SaveAs(path)
}

// recalculate has the office program read, compute and write a workbook.
func recalculate(dir, name string) (string, time.Duration, error) {
	out := filepath.Join(dir, "out")
	start := time.Now()
	cmd := exec.Command("soffice", "-env:UserInstallation=file://"+filepath.Join(dir, "profile"), "--headless", "--convert-to", "csv", "--outdir", out, filepath.Join(dir, name+".xlsx"))
	if said, err := cmd.CombinedOutput(); err != nil {
		return "", 0, fmt.Errorf("soffice: %w: %s", err, said)
	}
	return filepath.Join(out, name+".csv"), time.Since(start), nil
}

func compare(n, runs int) error {
	if _, err := exec.LookPath("soffice"); err != nil {
		return fmt.Errorf("LibreOffice Calc is not installed (Debian: apt install libreoffice-calc-nogui)")
	}
	dir, err := os.MkdirTemp("", "endcast-compare")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	var b basis.Basis
	ends, ours := bridge(n), make([]float64, n)
	capacities(b, ends, ours)
	if err := sheet(filepath.Join(dir, "formulas.xlsx"), b, ends, nil); err != nil {
		return err
	}
	if err := sheet(filepath.Join(dir, "values.xlsx"), b, ends, ours); err != nil {
		return err
	}
	least := map[string]time.Duration{}
	var result string
	for range runs {
		for _, name := range []string{"formulas", "values"} {
			path, took, err := recalculate(dir, name)
			if err != nil {
				return err
			}
			if name == "formulas" {
				result = path
			}
			if was, ok := least[name]; !ok || took < was {
				least[name] = took
			}
		}
	}
	worst, err := worstDifference(result, ours)
	if err != nil {
		return err
	}
	own := time.Hour
	for range runs {
		start := time.Now()
		capacities(b, ends, ours)
		own = min(own, time.Since(start))
	}
	theirs := least["formulas"] - least["values"]
	each := func(d time.Duration) float64 { return float64(d.Microseconds()) / float64(n) }
	fmt.Printf("%d ends: local yielding, local crippling, shear, and the least of them\n", n)
	fmt.Printf("spreadsheet  %8.2f µs an end (read with formulas %v, with values alone %v)\n", each(theirs), least["formulas"].Round(time.Millisecond), least["values"].Round(time.Millisecond))
	fmt.Printf("this program %8.3f µs an end\n", float64(own.Nanoseconds())/1000/float64(n))
	fmt.Printf("ratio        %8.0f\n", float64(theirs)/float64(own))
	fmt.Printf("%d capacities agree; the worst differs by %.2g of its value\n", n, worst)
	return nil
}
