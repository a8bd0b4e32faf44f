#include "app/pictures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <exception>
#include <string_view>

#include "app/run_plan.hpp"
#include "postproc/moment_picture.hpp"
#include "postproc/row_figures.hpp"

namespace torsowave::app {
namespace {

using postproc::Result;
using Place = std::function<std::filesystem::path(const std::string&)>;

/// A picture to draw.
struct Drawing {
  std::string name;
  std::function<void(const std::filesystem::path&)> draw;
};
using Drawings = std::vector<Drawing>;

/// Draws them side by side: pictures take longer to compress than to compute.
void draw_all(const Drawings& drawings, const Place& place)
{
  std::exception_ptr failure;
  const auto count = static_cast<std::ptrdiff_t>(drawings.size());
#pragma omp parallel for schedule(dynamic)
  for (std::ptrdiff_t n = 0; n < count; ++n) {
    try {
      const Drawing& drawing = drawings[static_cast<std::size_t>(n)];
      drawing.draw(place(drawing.name));
    } catch (...) {
#pragma omp critical(torsowave_drawing)
      failure = std::current_exception();
    }
  }
  if (failure) {
    std::rethrow_exception(failure);
  }
}

[[nodiscard]] bool is_row(const Result& result)
{
  return result.mode == "1D";
}

[[nodiscard]] bool has_phasor(const Result& result, const std::string& name)
{
  return std::ranges::find(result.phasors, name, &postproc::PhasorField::name) !=
         result.phasors.end();
}

[[nodiscard]] std::vector<std::string> flow_fields(const Result& result)
{
  return result.mode == "TEz" ? std::vector<std::string>{"Hz", "Ex", "Ey"}
                              : std::vector<std::string>{"Ez", "Hx", "Hy"};
}

[[nodiscard]] std::string joined(const std::vector<std::string>& words)
{
  std::string text;
  for (const std::string& word : words) {
    text += (text.empty() ? "" : ", ") + word;
  }
  return text;
}

[[nodiscard]] std::string missing_phasors(const std::vector<std::string>& fields)
{
  return fmt::format(
      "its phasors are not stored; add \"phasors: [{}]\" to outputs and "
      "run again",
      joined(fields));
}

[[nodiscard]] Moments moments_on(const postproc::SliceLine& line, const Result& result,
                                 const Moments& moments)
{
  Moments row{moments.plan, {}, {}};
  for (const postproc::Snapshot& moment : moments.shown) {
    row.shown.push_back(postproc::row_of(moment, result, moments.plan->stride, line));
  }
  row.history = moments.history;
  return row;
}

/// The pictures of an order, one by one. What they refer to outlives it.
class Collection {
public:
  Collection(const PictureOrder& order, const Result& result, const Moments& moments)
      : order_(order), result_(result), moments_(moments)
  {
    const bool along = order.line && !is_row(result);
    if (along) {
      row_ = postproc::row_of(result, *order.line);
      row_moments_ = moments_on(*order.line, result, moments);
    }
    for (const std::string& quantity : order.quantities) {
      if (!obstacle(result, moments, quantity, order.line).empty()) {
        continue;
      }
      if (along) {
        add_row(quantity, row_, row_moments_, postproc::name_of(result, *order.line));
      } else if (is_row(result)) {
        add_row(quantity, result, moments, {});
      } else {
        add_slice(quantity);
      }
    }
  }
  Collection(const Collection&) = delete;
  Collection& operator=(const Collection&) = delete;

  [[nodiscard]] const Drawings& drawings() const { return drawings_; }

  [[nodiscard]] std::vector<std::string> names() const
  {
    std::vector<std::string> names;
    for (const Drawing& drawing : drawings_) {
      names.push_back(drawing.name);
    }
    return names;
  }

private:
  void add_slice(const std::string& quantity)
  {
    if (quantity == "tissue") {
      add("tissue.png", [this](const auto& path) {
        postproc::draw_tissue_map(result_, path, order_.look);
      });
    } else if (is_field_name(quantity)) {
      const bool phase = order_.scale == postproc::Scale::phase;
      add_each(phase ? quantity + "_phase" : quantity,
               [this, quantity](std::size_t f, const auto& path) {
                 postproc::draw_phasor(result_, quantity, f, order_.scale, path,
                                       order_.look);
               });
    } else if (quantity == "snapshot") {
      add_snapshots();
    } else if (quantity == "surface") {
      add("surface_power." + order_.curves_as, [this](const auto& path) {
        postproc::draw_surface_power(result_, path, order_.look);
      });
    } else if (quantity == "far_field") {
      add("far_field." + order_.curves_as, [this](const auto& path) {
        postproc::draw_far_field(result_, path, order_.look);
      });
    } else {
      add_map(quantity);
    }
  }

  /// A quantity of mode 1D, or along a line. \param row  outlives the drawings
  void add_row(const std::string& quantity, const Result& row, const Moments& moments,
               const postproc::RowLine& line)
  {
    const std::string along = is_row(result_) ? "" : "_along_" + line.axis;
    const auto name = [&](const std::string& extension) {
      return quantity + along + "." + extension;
    };
    const postproc::Look& look = order_.look;
    if (quantity == "tissue") {
      add(name("png"), [&row, line, look](const auto& path) {
        postproc::draw_row_tissues(row, path, line, look);
      });
    } else if (is_field_name(quantity)) {
      add(name(order_.curves_as),
          [&row, quantity, scale = order_.scale, line, look](const auto& path) {
            postproc::draw_row_phasors(row, quantity, scale, path, line, look);
          });
    } else if (quantity == "snapshot") {
      add(name(order_.curves_as), [&row, &moments, line, look](const auto& path) {
        postproc::draw_row_snapshots(row, moments.shown, *moments.plan, path, line, look);
      });
    } else if (quantity == "spacetime") {
      add(name("png"), [&row, &moments, line, look](const auto& path) {
        postproc::draw_spacetime(row, moments.history, *moments.plan, path, line, look);
      });
    } else if (quantity == "sar") {
      add(name(order_.curves_as), [&row, line, look](const auto& path) {
        postproc::draw_row_sar(row, path, line, look);
      });
    }
  }

  template <class Draw>
  void add(std::string name, Draw draw)
  {
    drawings_.push_back({std::move(name), std::move(draw)});
  }

  /// One for each frequency that is ordered.
  template <class Draw>
  void add_each(const std::string& begin, Draw draw)
  {
    for (const std::size_t f : order_.frequencies) {
      add(fmt::format("{}_{}.png", begin, in_megahertz(result_.frequencies[f].frequency)),
          [f, draw](const std::filesystem::path& path) { draw(f, path); });
    }
  }

  void add_snapshots()
  {
    for (std::size_t n = 0; n < moments_.shown.size(); ++n) {
      add(fmt::format("snapshot_{}.png", n + 1), [this, n](const auto& path) {
        postproc::draw_snapshot(result_, moments_.shown[n], *moments_.plan, path,
                                std::nullopt, order_.look);
      });
    }
  }

  void add_map(const std::string& quantity)
  {
    const auto draw = quantity == "sar"            ? &postproc::draw_sar
                      : quantity == "power_flow"   ? &postproc::draw_power_flow
                      : quantity == "surface_ring" ? &postproc::draw_surface_ring
                                                   : nullptr;
    if (draw != nullptr) {
      add_each(quantity, [this, draw](std::size_t f, const auto& path) {
        draw(result_, f, path, order_.look);
      });
    }
  }

  const PictureOrder& order_;
  const Result& result_;
  const Moments& moments_;
  Result row_;
  Moments row_moments_;
  Drawings drawings_;
};

/// Of a quantity that is made of moments.
[[nodiscard]] std::string obstacle_of_moments(const Moments& moments, bool history)
{
  if (!moments.plan) {
    return "the run took no snapshots; add \"snapshots: {every: 0.1 ns}\" to outputs and "
           "run again";
  }
  if (history ? moments.history.size() < 2 : moments.shown.empty()) {
    return "the run took too few snapshots; take them more often and run again";
  }
  return "";
}

}  // namespace

std::vector<std::string> quantities_of(const Result& result, bool along_line)
{
  std::vector<std::string> names{"tissue"};
  for (const postproc::PhasorField& field : result.phasors) {
    names.push_back(field.name);
  }
  names.insert(names.end(), {"snapshot", "sar"});
  if (is_row(result) || along_line) {
    names.emplace_back("spacetime");
  } else {
    names.insert(names.end(), {"surface", "surface_ring", "far_field", "power_flow"});
  }
  return names;
}

std::string obstacle(const Result& result, const Moments& moments,
                     const std::string& quantity,
                     const std::optional<postproc::SliceLine>& line)
{
  if (is_field_name(quantity) && !has_phasor(result, quantity)) {
    return missing_phasors({quantity});
  }
  if (quantity == "sar" && result.sar.empty()) {
    return "SAR is not stored; add \"images: {quantity: sar}\" to outputs and run again";
  }
  if (quantity == "snapshot" || quantity == "spacetime") {
    return obstacle_of_moments(moments, quantity == "spacetime");
  }
  const bool about_body = quantity == "surface" || quantity == "surface_ring";
  if (line && (about_body || quantity == "far_field" || quantity == "power_flow")) {
    return "it cannot be drawn along a line; leave --along out";
  }
  if (about_body && std::ranges::all_of(result.frequencies, [](const auto& f) {
        return f.sector_power.empty();
      })) {
    return "the powers by sector are unknown: the body meets the absorbing boundary";
  }
  if (quantity == "surface_ring" &&
      std::ranges::all_of(result.labels,
                          [](std::uint16_t label) { return label == 0; })) {
    return "no cell's centre lies in the body, so that its place is not known; run with "
           "smaller cells";
  }
  if (quantity == "far_field" &&
      std::ranges::none_of(result.frequencies,
                           [](const auto& f) { return f.far_field.has_value(); })) {
    return "there is no far field: more than one medium, or one with losses, reaches the "
           "absorbing boundary";
  }
  if (quantity == "power_flow") {
    const std::vector<std::string> fields = flow_fields(result);
    if (!std::ranges::all_of(
            fields, [&](const auto& name) { return has_phasor(result, name); })) {
      return missing_phasors(fields);
    }
  }
  return "";
}

std::vector<std::string> draw_pictures(const PictureOrder& order, const Result& result,
                                       const Moments& moments, const Place& place)
{
  const Collection collection(order, result, moments);
  draw_all(collection.drawings(), place);
  return collection.names();
}

std::vector<std::string> picture_names(const PictureOrder& order, const Result& result,
                                       const Moments& moments)
{
  return Collection(order, result, moments).names();
}

std::size_t history_stride(std::size_t count) noexcept
{
  std::size_t stride = 1;
  while ((count + stride - 1) / stride >= most_history) {
    stride *= 2;
  }
  return stride;
}

std::optional<std::size_t> frequency_number(const Result& result, double frequency)
{
  const auto found = std::ranges::find_if(result.frequencies, [&](const auto& f) {
    return std::abs(f.frequency - frequency) <= 1e-4 * frequency;
  });
  return found == result.frequencies.end() ? std::nullopt
                                           : std::optional(static_cast<std::size_t>(
                                                 found - result.frequencies.begin()));
}

std::string in_megahertz(double frequency)
{
  return fmt::format("{:.6g}MHz", frequency * 1e-6);
}

bool is_picture_name(const std::string& name)
{
  const std::filesystem::path path(name);
  const std::string extension = path.extension().string();
  if (path.stem() == "animation") {
    return extension == ".mp4" || extension == ".webp" || extension == ".gif";
  }
  if (extension != ".png" && extension != ".svg" && extension != ".pdf") {
    return false;
  }
  std::string stem = path.stem().string();
  const auto strip = [&stem](std::string_view end) {
    const bool found = stem.ends_with(end);
    stem.resize(stem.size() - (found ? end.size() : 0));
    return found;
  };
  const auto strip_number = [&stem](std::string_view digits) {
    const std::size_t last = stem.find_last_not_of(digits);
    if (last != std::string::npos && last + 1 < stem.size() && stem[last] == '_') {
      stem.resize(last);
    }
  };
  if (strip("MHz")) {
    strip_number("0123456789.e+-");
    strip("_phase");
  } else if (!strip("_along_x") && !strip("_along_y")) {
    strip_number("0123456789");
  }
  static constexpr std::array<std::string_view, 8> names{
      "tissue",     "snapshot",  "spacetime",     "sar",
      "power_flow", "far_field", "surface_power", "surface_ring"};
  return is_field_name(stem) || std::ranges::find(names, stem) != names.end();
}

}  // namespace torsowave::app
