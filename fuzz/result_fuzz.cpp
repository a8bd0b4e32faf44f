// A result.h5, as `render` and `link` read it. The first byte says what the others are:
// 0: the file itself; 1: edits of a good one, byte by byte; else: edits of what is in it.

#include "fuzz/input.hpp"
#include "fuzz/result_edits.hpp"
#include "postproc/read_error.hpp"
#include "postproc/sample_result.hpp"
#include "postproc/stored_result.hpp"

namespace {

using namespace torsowave;

struct Good {
  fuzz::Bytes bytes;
  std::vector<std::string> places;
};

[[nodiscard]] Good good_result()
{
  const fuzz::ScratchFile scratch;
  postproc::write_sample(scratch.path(), postproc::sample_result(), 3);
  return {fuzz::content(scratch.path()), fuzz::places_in(scratch.path())};
}

void look(const postproc::Result& result)
{
  const auto cells =
      static_cast<std::size_t>(result.grid.nx) * static_cast<std::size_t>(result.grid.ny);
  fuzz::require(result.labels.empty() || result.labels.size() == cells,
                "labels that are not as many as cells");
  for (const std::uint16_t label : result.labels) {
    fuzz::require(label < result.tissues.size(), "a label without a tissue");
  }
}

/// \param as_it_is  nothing in it was changed
void read(const std::filesystem::path& file, bool as_it_is)
{
  try {
    look(postproc::read_result(file));
  } catch (const postproc::ReadError&) {
    // Its snapshots may still be good.
    fuzz::require(!as_it_is, "a refusal of a good result");
  }
  try {
    const postproc::StoredSnapshots snapshots(file);
    for (std::size_t n = 0; n < snapshots.count() && n < 3; ++n) {
      static_cast<void>(snapshots.frame(n));
    }
  } catch (const postproc::ReadError&) {
    return;
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  if (size == 0) {
    return 0;
  }
  static const Good good = good_result();
  static const fuzz::ScratchFile file;
  const std::span rest(data + 1, size - 1);
  fuzz::Input input(rest);
  if (data[0] == 0) {
    file.fill(rest);
  } else if (data[0] == 1) {
    file.fill(fuzz::edited(good.bytes, input));
  } else {
    file.fill(good.bytes);
    fuzz::edit_places(file.path(), good.places, input);
  }
  read(file.path(), size == 1 && data[0] > 0);
  return 0;
}
