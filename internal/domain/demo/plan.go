package demo

import (
	"strconv"
	"strings"
	"time"

	"endcast/internal/domain/girder"
)

// plan is when the work at one end happened or is to happen.
type plan struct {
	girder.Name
	clean, weld, form, cast time.Time // start of the shift; zero when none is planned
	pour                    string    // ends with the same are cast together
	stop                    string    // code of the step that is not done; empty: as far as the season goes
}

// programOfWork lists the shifts of each end: cleaned, studs welded, form fitted,
// cast (with a letter where two pours share a shift), and the step at which the
// end is kept, if it is.
const programOfWork = `
6F-1 0309 0323 0329 0401
6F-2 0309 0323 0329 0401
6F-3 0309 0323 0329 0401
6F-4 0311 0326 0402 0406
6F-5 0311 0326 0402 0406
6F-6 0311 0326 0402 0406
6N-1 0318 0405 0409 0413
6N-2 0318 0405 0409 0413
6N-3 0318 0405 0409 0413
6N-4 0325 0415 0420 0423
6N-5 0325 0415 0420 0423
6N-6 0325 0415 0420 0423
5F-1 0405 0422 0427 0430
5F-2 0405 0422 0427 0430
5F-3 0405 0422 0427 0430
5F-4 0416 0504 0507 0511
5F-5 0416 0504 0507 0511
5F-6 0416 0504 0507 0513 CLS
1N-1 0426 0513 0520 0524
1N-2 0426 0513 0520 0524 LDP
1N-3 0426 0513 0520 0524
1N-4 0506 0525 0531 0604
1N-5 0506 0525 0531 0604
1N-6 0506 0525 0531 0604 CLS
1F-1 0316 0331 0407 0414
1F-2 0316 0331 0407 0414
1F-3 0316 0331 0407 0414
1F-4 0324 0413 0421 0428
1F-5 0324 0413 0421 0428
1F-6 0324 0413 0421 0428
2N-1 0407 0429 0506 0512
2N-2 0407 0429 0506 0512
2N-3 0407 0429 0506 0512
2N-4 0421 0513 0602 0609 CLS
2N-5 0421 0513 0602 0609 CLS
2N-6 0421 0513 0602 0609 TRF
5N-1 0511 0601 0615 0623 HRD
5N-2 0511 0601 0615 0623 LDP
5N-3 0511 0601 0615 0708 STR
5N-4 0525 0622 0706 0713 CUR
5N-5 0525 0622 0708 0715 CST
5N-6 0525 0622 0708 0722 FRM
4F-1 0602 0630 0720 -    COL
4F-2 0602 0630 0720 -    GAU
4F-3 0602 0720 -    -    WLD
4F-4 0617 -    -    -    DES
4F-5 0617 -    -    -    DES
3N-1 0410 0508 0703 0717 REL
3N-2 0410 0508 0703 0717 REL
3N-3 0424 0619 0717 -    COR
3N-4 0508 0717 -    -    WLD
3N-5 0522 -    -    -    DES
2F-1 0619 -    -    -    DES
2F-2 0703 -    -    -    MSR
2F-3 0703 -    -    -    CLN
2F-4 0703 -    -    -    CLN
2F-5 -    -    -    -    ACC
2F-6 -    -    -    -    ACC
`

var plans = readPlans()

func readPlans() []plan {
	var out []plan
	for _, row := range strings.Split(strings.TrimSpace(programOfWork), "\n") {
		f := append(strings.Fields(row), "")
		p := plan{Name: mustName(f[0]), stop: strings.Join(f[5:], "")}
		access := lineOf(p.Name).access
		for i, into := range []*time.Time{&p.clean, &p.weld, &p.form, &p.cast} {
			if date := f[i+1]; date != "-" {
				month, _ := strconv.Atoi(date[:2])
				d, _ := strconv.Atoi(date[2:4])
				*into = day(month, d).Add(shiftStart[access])
			}
		}
		if p.String() == tonightEnd {
			p.cast = evening.StartsAt.In(zone)
		}
		if !p.cast.IsZero() {
			p.pour = strconv.Itoa(p.Span) + string(p.Side) + " " + f[4]
		}
		out = append(out, p)
	}
	return out
}

// shiftStart is when a shift of each kind of access starts, after midnight of its day.
var shiftStart = map[string]time.Duration{open: 7 * time.Hour, lane: 22 * time.Hour, navigation: 23*time.Hour + 30*time.Minute}

// pour is one casting of the story with the ends that it fills.
type pour struct {
	key  string
	at   time.Time
	ends []plan
}

func pours() []pour {
	var out []pour
	at := map[string]int{}
	for _, p := range plans {
		if p.pour == "" || !p.reaches("CST") {
			continue
		}
		i, ok := at[p.pour]
		if !ok {
			i = len(out)
			at[p.pour] = i
			out = append(out, pour{key: p.pour, at: p.cast.Add(90 * time.Minute)})
		}
		out[i].ends = append(out[i].ends, p)
	}
	return out
}

// asked is when the release for casting was asked for: on the working day before
// a shift by day, on the same day before a night.
func (p plan) asked() time.Time {
	if p.String() == waitingForRelease {
		return day(7, 15).Add(14 * hour)
	}
	d := p.cast
	if d.Hour() < 12 {
		d = d.AddDate(0, 0, -1)
	}
	for d.Weekday() == time.Saturday || d.Weekday() == time.Sunday {
		d = d.AddDate(0, 0, -1)
	}
	return time.Date(d.Year(), d.Month(), d.Day(), 13, 0, 0, 0, zone)
}

// waitingForRelease is the end whose casting is asked for and not released yet.
const waitingForRelease = "3N-2"

// order is the order of the steps in which an end may be kept.
var order = []string{"ACC", "CLN", "MSR", "DES", "WLD", "COL", "GAU", "COR", "FRM", "REL", "CST", "CUR", "STR", "HRD", "TRF", "LDP", "CLS"}

// reaches reports whether the step of this code is done at this end.
func (p plan) reaches(code string) bool {
	if p.stop == "" {
		return true
	}
	for _, c := range order {
		if c == p.stop {
			return false
		}
		if c == code {
			return true
		}
	}
	return false
}

func names(ps []plan) []string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = p.String()
	}
	return out
}
