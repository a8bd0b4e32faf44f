// The page of a sweep's folder. The first byte says what the others are: 0: its table.h5;
// 1: edits of a good one, byte by byte; 2: the summary.json of its first case; 3: its
// sweep.yaml; else: edits of what is in a good table.

#include <limits>
#include <nlohmann/json.hpp>

#include "app/report_page.hpp"
#include "app/report_sweep.hpp"
#include "fuzz/input.hpp"
#include "fuzz/result_edits.hpp"
#include "postproc/read_error.hpp"
#include "postproc/table_file.hpp"

namespace {

using namespace torsowave;

constexpr const char* summary = R"({"tool": {"version": "0.1.0", "revision": "none"},
"source": {"power_unit": "W/m"}, "scenario": {"file_sha256": "none"}, "grid": {},
"materials": [], "frequencies": []})";

[[nodiscard]] std::span<const std::uint8_t> bytes_of(std::string_view text)
{
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

/// Four cases at two frequencies, one of them failed.
[[nodiscard]] postproc::Table good_table()
{
  constexpr double none = std::numeric_limits<double>::quiet_NaN();
  const char* key = "varied key of the scenario";
  return {"sweep invented.yaml",
          {{"case", "1", "number of the case", {1, 1, 2, 2, 3, 3, 4}, {}},
           {"id", "", "folder", {}, {"aa", "aa", "bb", "bb", "cc", "cc", "dd"}},
           {"status",
            "",
            "status",
            {},
            {"done", "done", "done", "done", "done", "done", "failed"}},
           {"implant.position[1]", "mm", key, {1, 1, 2, 2, 3, 3, 4}, {}},
           {"body.shapes[0].tissue",
            "",
            key,
            {},
            {"fat", "fat", "skin", "skin", "fat", "fat", "fat"}},
           {"frequency_hz", "Hz", "frequency", {4e8, 9e8, 4e8, 9e8, 4e8, 9e8, none}, {}},
           {"loss_db", "dB", "loss", {30, 40, 31, 42, 33, 44, none}, {}},
           {"link.margin_db", "dB", "margin", {9, 5, 8, 3, 7, -1, none}, {}},
           {"error",
            "",
            "why a case failed",
            {},
            {"", "", "", "", "", "", "too coarse <b>"}}},
          7};
}

/// A folder as `sweep` leaves it.
class Sweep {
public:
  Sweep()
  {
    std::filesystem::create_directories(folder_ / "cases/aa");
    postproc::write_table(table(), good_table());
    good_ = fuzz::content(table());
    places_ = fuzz::places_in(table());
  }

  [[nodiscard]] const std::filesystem::path& folder() const { return folder_.path(); }

  /// \param what  the first byte of an input
  void change(unsigned what, std::span<const std::uint8_t> bytes) const
  {
    fuzz::Input input(bytes);
    fuzz::fill(folder_ / "sweep.yaml", what == 3 ? bytes : bytes_of("base: base.yaml\n"));
    fuzz::fill(folder_ / "cases/aa/summary.json", what == 2 ? bytes : bytes_of(summary));
    fuzz::fill(table(), what == 0   ? fuzz::Bytes(bytes.begin(), bytes.end())
                        : what == 1 ? fuzz::edited(good_, input)
                                    : good_);
    if (what > 3) {
      fuzz::edit_places(table(), places_, input);
    }
  }

private:
  [[nodiscard]] std::filesystem::path table() const { return folder_ / "table.h5"; }

  fuzz::ScratchFolder folder_;
  fuzz::Bytes good_;
  std::vector<std::string> places_;
};

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the name that libFuzzer calls
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size)
{
  if (size == 0) {
    return 0;
  }
  static const Sweep sweep;
  sweep.change(data[0], {data + 1, size - 1});
  try {
    const std::string page = app::report_page(app::sweep_page(sweep.folder()));
    fuzz::require(page.ends_with("</html>\n"), "a page that is not whole");
  } catch (const postproc::ReadError&) {
    fuzz::require(size > 1 || data[0] <= 3, "a refusal of a good table");
  }
  return 0;
}
