/// \file
/// \brief Rows of a field, padded and aligned; pages are touched first by their owner.

#pragma once

#include <cstddef>
#include <cstdlib>
#include <memory>
#include <new>
#include <span>

#if defined(__linux__)
#include <sys/mman.h>
#endif

namespace torsowave::solver {

/// Columns of padding left of column 0: keeps column 0 aligned and column -1 addressable.
inline constexpr int row_padding = 16;

/// Distance between rows, in elements: room for columns -1 to nx, a multiple of 64 bytes,
/// and not a multiple of 4 KiB, which would map neighbouring rows to the same cache sets.
template <class Real>
[[nodiscard]] constexpr std::ptrdiff_t row_stride(int nx) noexcept
{
  std::ptrdiff_t stride = (row_padding + nx + 1 + row_padding) / 16 * 16 + 16;
  if (stride * static_cast<std::ptrdiff_t>(sizeof(Real)) % 4096 == 0) {
    stride += 16;
  }
  return stride;
}

/// Raw rows; not initialised, so that the thread that clears a row first owns its pages.
///
/// Large arrays ask for huge pages (measured: 5 to 20 % faster on two threads). Arrays of
/// one grid take different `slot`s: else the same cell of each would lie in the same set
/// of the first-level cache, and loads would wait for stores to other arrays.
template <class Real>
class FieldArray {
public:
  FieldArray() = default;

  /// Rows `first_row` .. `first_row + rows - 1` can be addressed.
  FieldArray(int first_row, int rows, std::ptrdiff_t stride, int slot)
      : stride_(stride),
        first_row_(first_row),
        rows_(rows),
        offset_(slot * slot_bytes / static_cast<std::ptrdiff_t>(sizeof(Real))),
        data_(static_cast<Real*>(std::aligned_alloc(page(), bytes())))
  {
    if (data_ == nullptr) {
      throw std::bad_alloc();
    }
#if defined(__linux__)
    if (page() == huge_page) {
      // A wish: without huge pages everything works, slower.
      static_cast<void>(madvise(data_.get(), bytes(), MADV_HUGEPAGE));
    }
#endif
  }

  /// Column 0 of row 0.
  [[nodiscard]] Real* origin() const noexcept
  {
    return data_.get() + offset_ - first_row_ * stride_ + row_padding;
  }
  [[nodiscard]] Real* row(int j) const noexcept
  {
    return origin() + j * stride_;
  }

  /// Clears row j with its padding.
  void clear_row(int j) const noexcept
  {
    Real* const begin = row(j) - row_padding;
    for (std::ptrdiff_t p = 0; p < stride_; ++p) {
      begin[p] = Real(0);
    }
  }
  /// All rows with their padding.
  [[nodiscard]] std::span<Real> values() const noexcept
  {
    return {data_.get() + offset_, static_cast<std::size_t>(rows_ * stride_)};
  }

  [[nodiscard]] int first_row() const noexcept
  {
    return first_row_;
  }
  [[nodiscard]] int end_row() const noexcept
  {
    return first_row_ + rows_;
  }

private:
  struct Free {
    void operator()(void* memory) const noexcept { std::free(memory); }
  };
  static constexpr std::size_t huge_page = std::size_t{2} << 20;
  static constexpr std::ptrdiff_t slot_bytes = 640;

  [[nodiscard]] std::size_t wanted() const noexcept
  {
    return static_cast<std::size_t>(rows_ * stride_ + offset_) * sizeof(Real);
  }
  [[nodiscard]] std::size_t page() const noexcept
  {
    return wanted() >= huge_page ? huge_page : 64;
  }
  [[nodiscard]] std::size_t bytes() const noexcept
  {
    return (wanted() + page() - 1) / page() * page();
  }

  std::ptrdiff_t stride_ = 0;
  int first_row_ = 0;
  int rows_ = 0;
  std::ptrdiff_t offset_ = 0;
  std::unique_ptr<Real, Free> data_;
};

}  // namespace torsowave::solver
