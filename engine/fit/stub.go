package fit

type fitted struct{}

// Fit fits d. The error is an *Error.
func Fit(d Data, o Options) (*Result, error) { panic("todo") }

// Response returns the derivatives of the coefficients by every reading.
func (r *Result) Response() *Response { panic("todo") }

// Diagnostics returns what the residuals say.
func (r *Result) Diagnostics() *Diagnostics { panic("todo") }

// Predict returns the fitted value at x and its gradient over Coef. A group
// below 0 stands for the mean of the intercepts.
func (r *Result) Predict(x float64, group int) (y float64, grad []float64) { panic("todo") }

// PredictU returns the standard uncertainty of the fitted value at x, without the loss of
// digits that the gradient and Cov suffer far from x = 0.
func (r *Result) PredictU(x float64, group int) float64 { panic("todo") }

// Kind tells the errors of this package apart.
type Kind string

// Error says why there is no fit.
type Error struct {
	Kind  Kind
	Index int // of the entry concerned, −1 if none
	Msg   string
}

// Error returns the message.
func (e *Error) Error() string { return e.Msg }

// Estimator estimates the coefficients alone, for the draws of a Monte Carlo evaluation.
type Estimator struct{}

// NewEstimator prepares for readings like d.
func NewEstimator(d Data, o Options) (*Estimator, error) { panic("todo") }

// Clone returns an estimator for another goroutine.
func (e *Estimator) Clone() *Estimator { panic("todo") }

// Coef writes the coefficients of the readings x, y to dst (length P); NaN where there is no fit.
func (e *Estimator) Coef(dst, x, y []float64) { panic("todo") }

// CoefBlock is Coef over a block of draws: x[i][j] is draw j of entry i, dst[k][j] draw j of coefficient k.
func (e *Estimator) CoefBlock(dst, x, y [][]float64) { panic("todo") }
