// Package fit fits straight lines, proportional lines and polynomials by least
// squares, with the covariance of the coefficients, their linear response to
// every reading and the diagnostics of the residuals. Values are plain floats
// in coherent units; nothing here draws or formats.
//
// # Models
//
// Straight: y = slope·x + intercept of the group, one slope for all groups.
// Proportional: y = slope·x. Polynomial: y = c0 + c1·x + … + cN·x^N.
//
// # Weights
//
// Equal is ordinary least squares; the scatter of a point is the larger of
// the residual standard deviation and the root mean square of the points' own
// uncertainties, so that readings that happen to agree do not make a perfect
// line (compare GUM F.2.2.1). Stated weighs each point by 1/u² and takes the
// stated uncertainties as they are; with uncertainty in both coordinates it is
// the fit of York, Evensen, López Martínez and De Basabe Delgado,
// Am. J. Phys. 72 (2004) 367, with the standard errors of the expectation points.
package fit

// Model names the function that is fitted.
type Model int

// The models.
const (
	Straight     Model = iota // a slope and an intercept for each group
	Proportional              // a slope, no intercept
	Polynomial                // a polynomial of Options.Degree
)

// Weights says how points are weighed.
type Weights int

// The kinds of weights.
const (
	Equal  Weights = iota // every point alike
	Stated                // by the points' own uncertainties
)

// Data holds one entry for each cell that was read. Group, Row, UX and UY may
// be nil; if not, every slice has the length of X.
type Data struct {
	X, Y   []float64
	Group  []int     // index of the y column, from 0; nil: all 0
	Row    []int     // row of the table, from 1, for reports; nil: counted within the group
	UX, UY []float64 // independent standard uncertainties of the points; nil: none
	Order  []float64 // the order in which a single step is sought, such as time; nil: that of X
}

// Options chooses model and weights.
type Options struct {
	Model   Model
	Degree  int // of a Polynomial, 1 … MaxDegree
	Groups  int // number of y columns; 0 means 1
	Weights Weights
}

// MaxDegree is the highest degree of a polynomial.
const MaxDegree = 10

// MinDegree is the lowest degree of a polynomial (1 is a straight line in c0, c1).
const MinDegree = 1

// Result is a fit. It is not to be changed.
type Result struct {
	Options Options
	N, P    int // number of cells read and of coefficients

	// Coef holds, of Straight, the slope, then the intercept of each group; of
	// Proportional, the slope; of Polynomial, c0 … cN.
	Coef []float64
	// Cov is the covariance matrix of Coef, P×P.
	Cov [][]float64
	// Factor is a square root of Cov: Cov = Factor·Factorᵀ. The coefficients
	// vary as Coef + Factor·z, z standard multivariate t with DOF.
	Factor [][]float64

	S       float64 // residual standard deviation, n − p (unweighted); NaN where n = p
	Floor   float64 // root mean square of the points' own uncertainties
	Scatter float64 // Equal: the scatter that Cov rests on, max(S, Floor); NaN for Stated
	Floored bool    // Equal: the floor won
	DOF     float64 // Equal: n − p; +Inf for Stated and where n = p
	R2      float64 // 1 − RSS/TSS, TSS about the mean of each group; of Proportional TSS = Σy² (uncentred); NaN where TSS = 0
	Chi2    float64 // Stated: the minimum of Σ(r/u)²; NaN otherwise

	Residuals []float64 // y − fitted, in the order of the data

	data  Data
	basis *basis // orthonormal basis of the model at the points
	coef  []dd   // Coef with twice the digits
	york  *york  // of the fit with uncertainty in both coordinates
}

// Response holds the derivatives of the coefficients by every reading, P×N:
// DY[k][i] = ∂Coef[k]/∂Y[i] and DX[k][i] = ∂Coef[k]/∂X[i]. They are exact
// derivatives of the estimator, residual terms included.
type Response struct {
	DY, DX [][]float64
}

// Addition is a further term of a fit: its coefficient, the t statistic of that
// and its degrees of freedom. T is 0 where the term lies in the model, NaN
// where too few points are left to judge it.
type Addition struct {
	Coef, T, DOF float64
}

// Diagnostics holds what the residuals say. A value that is not defined is NaN.
type Diagnostics struct {
	Curvature    float64 // t statistic of an added quadratic term (all groups alike)
	CurvatureDOF float64 // its degrees of freedom, n − p − 1; +Inf for Stated
	Bow          float64 // the added quadratic minus its chord over the range of x, where greatest

	Leverage    []float64 // diagonal of the hat matrix
	Deleted     []float64 // y minus the prediction of the fit without the point
	Studentised []float64 // externally studentised residuals

	Jump    float64 // height of the best single step, added to the model at larger x, or later in the order
	JumpRow int     // row at which it first shows; 0 if there is none
	JumpAt  float64 // x, or place in the order, at which it first shows
	JumpP   float64 // its two-sided p after Bonferroni over the possible places
}
