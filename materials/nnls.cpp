#include "materials/nnls.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <vector>

namespace torsowave::materials {
namespace {

constexpr int capacity = static_cast<int>(max_unknowns);

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor,
                             capacity, capacity>;
using Vector = Eigen::Matrix<double, Eigen::Dynamic, 1, Eigen::ColMajor, capacity, 1>;
using Selection = std::array<bool, max_unknowns>;

/// Lawson and Hanson's active-set loop; `free` marks the unknowns that may be positive.
class ActiveSet {
public:
  ActiveSet(const Matrix& matrix, const Vector& right)
      : matrix_(matrix), right_(right), x_(Vector::Zero(matrix.cols()))
  {
  }

  Vector solve()
  {
    // Convex and finite: each step lowers the residual. The cap only guards against
    // rounding.
    for (int step = 0; step < 4 * capacity; ++step) {
      const Eigen::Index entering = steepest();
      if (entering < 0) {
        break;
      }
      enter(entering);
    }
    return x_;
  }

private:
  /// The bound unknown whose increase lowers the residual most, or -1.
  [[nodiscard]] Eigen::Index steepest() const
  {
    const Vector residual = right_ - matrix_ * x_;
    // Columns have unit length, so the gradient is judged against the right-hand side.
    double least = 1e-13 * right_.norm();
    Eigen::Index best = -1;
    for (Eigen::Index j = 0; j < matrix_.cols(); ++j) {
      const double gradient = matrix_.col(j).dot(residual);
      if (!free_[at(j)] && !barred_[at(j)] && gradient > least) {
        least = gradient;
        best = j;
      }
    }
    return best;
  }

  /// Frees one unknown, then steps back until every free unknown is positive.
  void enter(Eigen::Index entering)
  {
    free_[at(entering)] = true;
    Vector target = unconstrained();
    if (!(target[entering] > 0.0)) {  // rounding: its gradient was noise
      free_[at(entering)] = false;
      barred_[at(entering)] = true;
      return;
    }
    barred_.fill(false);
    while (!step_towards(target)) {
      target = unconstrained();
    }
  }

  /// Moves to `target`, or to the first bound on the way; true when it arrived.
  bool step_towards(const Vector& target)
  {
    double fraction = 1.0;
    Eigen::Index blocking = -1;
    for (Eigen::Index j = 0; j < x_.size(); ++j) {
      if (free_[at(j)] && target[j] <= 0.0) {
        const double share = x_[j] / (x_[j] - target[j]);
        if (blocking < 0 || share < fraction) {
          fraction = share;
          blocking = j;
        }
      }
    }
    if (blocking < 0) {
      x_ = target;
      return true;
    }
    x_ += fraction * (target - x_);
    x_[blocking] = 0.0;
    for (Eigen::Index j = 0; j < x_.size(); ++j) {
      if (free_[at(j)] && x_[j] <= 0.0) {
        x_[j] = 0.0;
        free_[at(j)] = false;
      }
    }
    return false;
  }

  /// Least squares in the free unknowns alone.
  [[nodiscard]] Vector unconstrained() const
  {
    Matrix part(matrix_.rows(), 0);
    std::array<Eigen::Index, max_unknowns> place{};
    Eigen::Index count = 0;
    for (Eigen::Index j = 0; j < matrix_.cols(); ++j) {
      if (free_[at(j)]) {
        place[at(count)] = j;
        part.conservativeResize(Eigen::NoChange, count + 1);
        part.col(count) = matrix_.col(j);
        ++count;
      }
    }
    Vector full = Vector::Zero(matrix_.cols());
    if (count == 0) {
      return full;
    }
    const Vector solution = part.colPivHouseholderQr().solve(right_);
    for (Eigen::Index k = 0; k < count; ++k) {
      full[place[at(k)]] = solution[k];
    }
    return full;
  }

  static std::size_t at(Eigen::Index j) { return static_cast<std::size_t>(j); }

  const Matrix& matrix_;
  const Vector& right_;
  Vector x_;
  Selection free_{};
  Selection barred_{};
};

}  // namespace

std::array<double, max_unknowns> non_negative_least_squares(const SmallSystem& system)
{
  const auto n = static_cast<Eigen::Index>(system.unknowns);
  Matrix matrix = Eigen::Map<const Eigen::MatrixXd>(system.matrix.data(), n, n);
  const Vector right = Eigen::Map<const Eigen::VectorXd>(system.right.data(), n);
  Vector scale = matrix.colwise().norm();
  for (Eigen::Index j = 0; j < n; ++j) {
    scale[j] = scale[j] > 0.0 ? scale[j] : 1.0;
    matrix.col(j) /= scale[j];
  }
  const Vector x = ActiveSet(matrix, right).solve();
  std::array<double, max_unknowns> result{};
  for (Eigen::Index j = 0; j < n; ++j) {
    result[static_cast<std::size_t>(j)] = x[j] / scale[j];
  }
  return result;
}

}  // namespace torsowave::materials
