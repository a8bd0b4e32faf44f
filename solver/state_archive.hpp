/// \file
/// \brief How the objects of a run hand over their state, and take it back.
///
/// What changes from step to step is written as named arrays, one after another, and read
/// in the same order into an object that was built from the same input. Numbers keep all
/// their bits. Where the bytes go is up to who derives from the two classes.

#pragma once

#include <cstddef>
#include <ranges>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <type_traits>

namespace torsowave::solver {

/// A state that does not belong to the object that reads it, or that is damaged.
class StateError : public std::runtime_error {
public:
  using std::runtime_error::runtime_error;
};

/// An array of plain numbers, or of pairs of them.
template <class Range>
concept PlainArray =
    std::ranges::contiguous_range<Range> && std::ranges::sized_range<Range> &&
    std::is_trivially_copyable_v<std::ranges::range_value_t<Range>>;

/// Takes arrays.
class StateWriter {
public:
  virtual ~StateWriter() = default;

  template <PlainArray Range>
  void write(std::string_view name, const Range& values)
  {
    const std::span all(std::ranges::data(values), std::ranges::size(values));
    record(name, sizeof(std::ranges::range_value_t<Range>), std::as_bytes(all));
  }

  template <class Value>
  requires std::is_arithmetic_v<Value>
  void write_value(std::string_view name, Value value)
  {
    write(name, std::span(&value, 1));
  }

protected:
  StateWriter() = default;
  StateWriter(const StateWriter&) = default;
  StateWriter& operator=(const StateWriter&) = default;

private:
  virtual void record(std::string_view name, std::size_t bytes_each,
                      std::span<const std::byte> bytes) = 0;
};

/// Gives the arrays back in the order in which they were written.
class StateReader {
public:
  virtual ~StateReader() = default;

  /// \throws StateError  The next array has another name, type or size, or is damaged.
  template <PlainArray Range>
  void read(std::string_view name, Range&& values)
  {
    const std::span all(std::ranges::data(values), std::ranges::size(values));
    if (next(name, sizeof(std::ranges::range_value_t<Range>)) != all.size()) {
      throw StateError("\"" + std::string(name) + "\" has another size");
    }
    take(std::as_writable_bytes(all));
  }

  /// An array that grows over a run, into a vector or a string.
  /// \param most  elements; nothing is allocated for more
  /// \throws StateError
  template <PlainArray Growing>
  void read_growing(std::string_view name, Growing& values, std::size_t most)
  {
    const std::size_t count = next(name, sizeof(std::ranges::range_value_t<Growing>));
    if (count > most) {
      throw StateError("\"" + std::string(name) + "\" is too long");
    }
    values.resize(count);
    take(std::as_writable_bytes(std::span(values)));
  }

  /// \throws StateError
  template <class Value>
  requires std::is_arithmetic_v<Value>
  void read_value(std::string_view name, Value& value)
  {
    read(name, std::span(&value, 1));
  }

protected:
  StateReader() = default;
  StateReader(const StateReader&) = default;
  StateReader& operator=(const StateReader&) = default;

private:
  /// Elements of the next array, which must be this one and be there as a whole.
  [[nodiscard]] virtual std::size_t next(std::string_view name,
                                         std::size_t bytes_each) = 0;
  /// Its bytes, checked.
  virtual void take(std::span<std::byte> bytes) = 0;
};

}  // namespace torsowave::solver
