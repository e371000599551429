package stat

// Sum returns the correctly rounded sum of x.
func Sum(x []float64) float64 { panic("todo") }

// Mean returns the arithmetic mean of x, NaN if x is empty.
func Mean(x []float64) float64 { panic("todo") }

// SD returns the experimental standard deviation (n − 1), NaN below two values.
func SD(x []float64) float64 { panic("todo") }

// Median returns the median of x, which it leaves as it is.
func Median(x []float64) float64 { panic("todo") }

// Min returns the least value.
func Min(x []float64) float64 { panic("todo") }

// Max returns the greatest value.
func Max(x []float64) float64 { panic("todo") }

// NormalCDF returns the probability of a standard normal value at most z.
func NormalCDF(z float64) float64 { panic("todo") }

// NormalQuantile inverts NormalCDF.
func NormalQuantile(p float64) float64 { panic("todo") }

// TCDF returns the probability of a t value at most t for nu degrees of freedom (+Inf: normal).
func TCDF(t, nu float64) float64 { panic("todo") }

// TTail returns the two-sided tail probability of |t|.
func TTail(t, nu float64) float64 { panic("todo") }

// TQuantile inverts TCDF.
func TQuantile(p, nu float64) float64 { panic("todo") }

// CoverageFactor returns the two-sided t for coverage probability p at the truncated degrees of freedom.
func CoverageFactor(p, nuEff float64) float64 { panic("todo") }

// ChiSquaredQuantile returns the p quantile of the chi-squared distribution.
func ChiSquaredQuantile(p, nu float64) float64 { panic("todo") }

// ChiSquaredTail returns the probability of a chi-squared value above x.
func ChiSquaredTail(x, nu float64) float64 { panic("todo") }

// Stream is a source of random bits.
type Stream struct{ hi, lo uint64 }

// NewStream returns the stream of one source and one block of draws.
func NewStream(seed uint64, name string, chunk int) *Stream { panic("todo") }

// Uint64 returns 64 random bits.
func (s *Stream) Uint64() uint64 { panic("todo") }

// Sampler fills a block with independent draws of a standard distribution.
type Sampler interface {
	Fill(dst []float64, s *Stream)
}

// Normal samples the standard normal distribution.
func Normal() Sampler { panic("todo") }

// Rectangular samples the rectangular distribution on (−1, 1).
func Rectangular() Sampler { panic("todo") }

// Triangular samples the symmetric triangular distribution on (−1, 1).
func Triangular() Sampler { panic("todo") }

// Arcsine samples the arcsine (U-shaped) distribution on (−1, 1).
func Arcsine() Sampler { panic("todo") }

// StudentT samples Student's t with nu degrees of freedom (unscaled; +Inf: normal).
func StudentT(nu float64) Sampler { panic("todo") }

// MultivariateT samples the standard multivariate t distribution: dim
// coordinates that share one chi-squared divisor.
type MultivariateT struct{}

// NewMultivariateT returns the sampler of dim coordinates and nu degrees of freedom.
func NewMultivariateT(nu float64, dim int) *MultivariateT { panic("todo") }

// Fill fills dst[0] … dst[dim−1], blocks of equal length.
func (m *MultivariateT) Fill(dst [][]float64, s *Stream) { panic("todo") }

// Select reorders data so that data[k] holds the order statistic k (from 0) for each k.
func Select(data []float64, ks ...int) { panic("todo") }

// ShortestInterval returns the shortest interval that holds the share p of data (JCGM 101, 7.7).
func ShortestInterval(data []float64, p float64) (low, high float64) { panic("todo") }

// SymmetricInterval returns the probabilistically symmetric interval (JCGM 101, 7.7).
func SymmetricInterval(data []float64, p float64) (low, high float64) { panic("todo") }

// Moments accumulates mean and variance over blocks; blocks merged in a fixed order give fixed bytes.
type Moments struct {
	n        int
	mean, m2 float64
}

// Add takes in a block.
func (m *Moments) Add(block []float64) { panic("todo") }

// Merge takes in what o has accumulated.
func (m *Moments) Merge(o Moments) { panic("todo") }

// N returns the number of values.
func (m *Moments) N() int { return m.n }

// Mean returns the mean, NaN if there are no values.
func (m *Moments) Mean() float64 { panic("todo") }

// Variance returns the variance (n − 1), NaN below two values.
func (m *Moments) Variance() float64 { panic("todo") }

// SD returns the standard deviation (n − 1), NaN below two values.
func (m *Moments) SD() float64 { panic("todo") }
