package lotrun

// InputError is unusable input or usage: one line that names file, feature or
// place, value, limit and what to do. Nothing has been written.
type InputError struct{ Says string }

func (e *InputError) Error() string { return e.Says }
