package main

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
)

// agree is how far a capacity of the sheet may lie from ours, relatively.
const agree = 1e-9

// worstDifference compares the last column of a sheet with capacities.
func worstDifference(path string, ours []float64) (float64, error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return 0, err
	}
	if len(rows) != len(ours) {
		return 0, fmt.Errorf("the sheet came back with %d rows, not %d", len(rows), len(ours))
	}
	worst := 0.0
	for i, row := range rows {
		v, err := strconv.ParseFloat(row[len(row)-1], 64)
		if err != nil {
			return 0, fmt.Errorf("row %d: %w", i+1, err)
		}
		apart := math.Abs(v/ours[i] - 1)
		if !(apart <= agree) {
			return 0, fmt.Errorf("row %d: the sheet has %v, this program %v", i+1, v, ours[i])
		}
		worst = max(worst, apart)
	}
	return worst, nil
}
