#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "postproc/hdf5_read.hpp"
#include "postproc/hdf5_result.hpp"

namespace torsowave::postproc::hdf5 {
namespace {

constexpr std::size_t most_layers = 100000;

/// A figure of the layers as a whole, and its error.
struct LayerFigure {
  const char* name;
  std::optional<double> LayerResponse::*value;
  std::optional<double> LayerErrors::*error;
  const char* what;
};

constexpr std::array<LayerFigure, 4> figures{
    {{"reflectance", &LayerResponse::reflectance, &LayerErrors::reflectance,
      "reflected over incident power at the first face"},
     {"transmittance", &LayerResponse::transmittance, &LayerErrors::transmittance,
      "power into the last medium over incident power"},
     {"into_first", &LayerResponse::into_first, &LayerErrors::into_first,
      "power that the first medium takes over delivered power"},
     {"into_last", &LayerResponse::into_last, &LayerErrors::into_last,
      "power that the last medium takes over delivered power"}}};

constexpr const char* absorbed_name = "absorbed_by_layer";

/// What a figure misses, by cause.
struct ErrorKind {
  const char* suffix;
  const LayerErrors* (*find)(const LayerResponse&);
  LayerErrors& (*make)(LayerResponse&);
  const char* what;
};

constexpr std::array<ErrorKind, 3> error_kinds{
    {{"_fit_error", [](const LayerResponse& r) { return &r.fit_error; },
      [](LayerResponse& r) -> LayerErrors& { return r.fit_error; },
      "error of the Debye fit"},
     {"_grid_error", [](const LayerResponse& r) { return &r.grid_error; },
      [](LayerResponse& r) -> LayerErrors& { return r.grid_error; }, "error of the grid"},
     {"_refinement_error",
      [](const LayerResponse& r) {
        return r.refinement_error ? &*r.refinement_error : nullptr;
      },
      [](LayerResponse& r) -> LayerErrors& {
        return r.refinement_error ? *r.refinement_error : r.refinement_error.emplace();
      },
      "grid error from a second cell size"}}};

/// Writes one value for each frequency, or nothing where none has any.
template <class Get>
void write_figure(hid_t group, const std::string& name, const Result& result,
                  const Axis& frequency, const Description& description, Get get)
{
  std::vector<double> values;
  for (const FrequencyResult& f : result.frequencies) {
    values.push_back(f.slab ? get(*f.slab).value_or(missing) : missing);
  }
  if (!std::ranges::all_of(values, [](double value) { return std::isnan(value); })) {
    write_variable(group, name, values, {&frequency}, description);
  }
}

/// Writes a row of layers for each frequency, or nothing where none has any.
/// \param get  gives a list or null
template <class Get>
void write_by_layer(hid_t group, const std::string& name, const Result& result,
                    const Axis& frequency, const Axis& layer,
                    const Description& description, Get get)
{
  std::vector<double> values;
  bool any = false;
  for (const FrequencyResult& f : result.frequencies) {
    const std::vector<double>* row = f.slab ? get(*f.slab) : nullptr;
    if (row != nullptr && !row->empty()) {
      values.insert(values.end(), row->begin(), row->end());
      any = true;
    } else {
      values.insert(values.end(), layer.size, missing);
    }
  }
  if (any) {
    write_variable(group, name, values, {&frequency, &layer}, description);
  }
}

void write_values(hid_t group, const Result& result, const Axis& frequency)
{
  for (const LayerFigure& figure : figures) {
    write_figure(group, figure.name, result, frequency, {"1", figure.what},
                 [&](const LayerResponse& slab) { return slab.*figure.value; });
  }
  const auto write_part = [&](const char* name, const char* what, auto part) {
    write_figure(
        group, name, result, frequency, {"1", what}, [&](const LayerResponse& slab) {
          return slab.reflection ? std::optional(part(*slab.reflection)) : std::nullopt;
        });
  };
  write_part("reflection_real", "real part of the reflection of E at the first face",
             [](std::complex<double> r) { return r.real(); });
  write_part("reflection_imaginary",
             "imaginary part of the reflection of E at the first face",
             [](std::complex<double> r) { return r.imag(); });
}

void write_errors(hid_t group, const Result& result, const Axis& frequency,
                  const ErrorKind& kind)
{
  for (const LayerFigure& figure : figures) {
    write_figure(group, figure.name + std::string(kind.suffix), result, frequency,
                 {"dB", kind.what}, [&](const LayerResponse& slab) {
                   const LayerErrors* errors = kind.find(slab);
                   return errors != nullptr ? errors->*figure.error : std::nullopt;
                 });
  }
}

void write_absorbed(hid_t group, const Result& result, const Axis& frequency)
{
  std::size_t layers = 0;
  for (const FrequencyResult& f : result.frequencies) {
    layers = std::max(layers, f.slab ? f.slab->absorbed_by_layer.size() : 0);
  }
  if (layers == 0) {
    return;
  }
  std::vector<double> numbers;
  for (std::size_t n = 1; n <= layers; ++n) {
    numbers.push_back(static_cast<double>(n));
  }
  const Axis layer =
      write_axis(group, "layer", numbers, {"1", "finite layers, from left to right"});
  write_by_layer(group, absorbed_name, result, frequency, layer,
                 {"1", "absorbed over incident or delivered power"},
                 [](const LayerResponse& slab) { return &slab.absorbed_by_layer; });
  for (const ErrorKind& kind : error_kinds) {
    write_by_layer(group, absorbed_name + std::string(kind.suffix), result, frequency,
                   layer, {"dB", kind.what}, [&](const LayerResponse& slab) {
                     const LayerErrors* errors = kind.find(slab);
                     return errors != nullptr ? &errors->absorbed_by_layer : nullptr;
                   });
  }
}

void write_slab(hid_t file, const Result& result)
{
  if (std::ranges::none_of(result.frequencies,
                           [](const auto& f) { return f.slab.has_value(); })) {
    return;
  }
  const Group group = create_group(file, "slab");
  const Axis frequency = write_frequency(group.id(), result);
  write_values(group.id(), result, frequency);
  for (const ErrorKind& kind : error_kinds) {
    write_errors(group.id(), result, frequency, kind);
  }
  write_absorbed(group.id(), result, frequency);
}

/// One optional value for each frequency: NaN and an absent variable mean none.
[[nodiscard]] std::vector<std::optional<double>> read_figure(hid_t group,
                                                             const std::string& name,
                                                             std::size_t frequencies)
{
  std::vector<std::optional<double>> result(frequencies);
  if (has(group, name)) {
    const std::vector<double> values = read_doubles(group, name, {frequencies});
    for (std::size_t f = 0; f < frequencies; ++f) {
      if (!std::isnan(values[f])) {
        result[f] = values[f];
      }
    }
  }
  return result;
}

void read_values(hid_t group, std::vector<FrequencyResult>& frequencies)
{
  for (const LayerFigure& figure : figures) {
    const auto values = read_figure(group, figure.name, frequencies.size());
    for (std::size_t f = 0; f < frequencies.size(); ++f) {
      (*frequencies[f].slab).*figure.value = values[f];
    }
  }
  const auto real = read_figure(group, "reflection_real", frequencies.size());
  const auto imaginary = read_figure(group, "reflection_imaginary", frequencies.size());
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    if (real[f] && imaginary[f]) {
      frequencies[f].slab->reflection = {*real[f], *imaginary[f]};
    }
  }
}

void read_errors(hid_t group, std::vector<FrequencyResult>& frequencies,
                 const ErrorKind& kind)
{
  for (const LayerFigure& figure : figures) {
    const auto values =
        read_figure(group, figure.name + std::string(kind.suffix), frequencies.size());
    for (std::size_t f = 0; f < frequencies.size(); ++f) {
      if (values[f]) {
        kind.make(*frequencies[f].slab).*figure.error = values[f];
      }
    }
  }
}

void read_absorbed(hid_t group, std::vector<FrequencyResult>& frequencies)
{
  if (!has(group, "layer")) {
    return;
  }
  const std::size_t layers = length_of(group, "layer", most_layers);
  auto rows = read_rows(group, absorbed_name, frequencies.size(), layers);
  for (std::size_t f = 0; f < frequencies.size(); ++f) {
    frequencies[f].slab->absorbed_by_layer = std::move(rows[f]);
  }
  for (const ErrorKind& kind : error_kinds) {
    rows = read_rows(group, absorbed_name + std::string(kind.suffix), frequencies.size(),
                     layers);
    for (std::size_t f = 0; f < frequencies.size(); ++f) {
      if (!rows[f].empty()) {
        kind.make(*frequencies[f].slab).absorbed_by_layer = std::move(rows[f]);
      }
    }
  }
}

}  // namespace

void write_layers(hid_t file, const Result& result)
{
  if (!result.layers.empty()) {
    const Group group = create_group(file, "layers");
    std::vector<double> numbers;
    std::vector<std::string> tissues;
    std::vector<double> from;
    std::vector<double> to;
    for (const LayerInfo& layer : result.layers) {
      numbers.push_back(static_cast<double>(numbers.size()));
      tissues.push_back(layer.tissue);
      from.push_back(layer.from);
      to.push_back(layer.to);
    }
    const Axis layer = write_axis(group.id(), "layer", numbers,
                                  {"1", "layers with outer media, from left to right"});
    write_variable(group.id(), "tissue", tissues, {&layer}, {"", "tissue"});
    write_variable(group.id(), "from", from, {&layer}, {"m", "left face"});
    write_variable(group.id(), "to", to, {&layer}, {"m", "right face"});
  }
  write_slab(file, result);
}

void read_layers(hid_t file, Result& result)
{
  if (has(file, "layers")) {
    const Group group = open_group(file, "layers");
    const Shape shape{length_of(group.id(), "layer", most_layers)};
    const std::vector<std::string> tissues = read_texts(group.id(), "tissue", shape);
    const std::vector<double> from = read_doubles(group.id(), "from", shape);
    const std::vector<double> to = read_doubles(group.id(), "to", shape);
    for (std::size_t n = 0; n < tissues.size(); ++n) {
      result.layers.push_back({tissues[n], from[n], to[n]});
    }
  }
  if (has(file, "slab")) {
    const Group group = open_group(file, "slab");
    for (FrequencyResult& f : result.frequencies) {
      f.slab.emplace();
    }
    read_values(group.id(), result.frequencies);
    for (const ErrorKind& kind : error_kinds) {
      read_errors(group.id(), result.frequencies, kind);
    }
    read_absorbed(group.id(), result.frequencies);
  }
}

}  // namespace torsowave::postproc::hdf5
