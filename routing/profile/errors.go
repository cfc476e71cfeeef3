package profile

import "fmt"

// ChainError reports a chain that cannot be asked about.
type ChainError struct {
	What         string
	At           float64 // S, m
	Value, Limit float64
}

func (e *ChainError) Error() string {
	return fmt.Sprintf("the chain %s at S %.3f m: %g against %g", e.What, e.At, e.Value, e.Limit)
}

// Rule names a limit that bound.
type Rule string

// The rules that hold an invert down or ask for height.
const (
	RuleStart   Rule = "start"   // StartHigh holds down, StartLow asks for height
	RuleCeiling Rule = "ceiling" // cover
	RuleUtility Rule = "utility" // passed below
	RuleFloor   Rule = "floor"   // greatest depth
	RuleEnd     Rule = "end"     // EndMin
)

// Shortfall says that a chain has no admissible invert even with a grade break
// anywhere: between Bound and At the invert cannot stay high enough.
type Shortfall struct {
	// Missing is the height that lacks, m: raised by it, start and ceilings
	// would do (and with a utility passed below, its band).
	Missing float64
	Bound   float64 // S where a limit last held the invert down, m
	By      Rule    // which: start, ceiling or utility
	At      float64 // S where height lacks most, m
	Needs   Rule    // what asks for it: start, floor or end
	Highest float64 // invert attained there, elevation m
	Limit   float64 // invert needed there, elevation m
}

func (e *Shortfall) Error() string {
	return fmt.Sprintf("invert %.3f m at S %.2f m, %s asks for %.3f m: short by %.3g m, held down by the %s at S %.2f m",
		e.Highest, e.At, e.Needs, e.Limit, e.Missing, e.By, e.Bound)
}

// BreaksError says that a chain has an admissible invert, but no runs that
// break at the listed stations alone and keep under the largest slope.
type BreaksError struct {
	Reached float64 // S of the last break that runs reach, m
	Breaks  int     // how many breaks were tried, both ends among them
}

func (e *BreaksError) Error() string {
	return fmt.Sprintf("no constant grades with breaks at %d stations pass S %.2f m", e.Breaks, e.Reached)
}

// Violation reports runs that break the law.
type Violation struct {
	What         string  // which limit
	At           float64 // S, m
	Value, Limit float64 // m, or m/m for a slope
}

func (e *Violation) Error() string {
	return fmt.Sprintf("%s at S %.3f m: %.9g against %.9g", e.What, e.At, e.Value, e.Limit)
}
