/// \file
/// \brief An invented abdomen with invented fields, for the tests of figures.

#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdint>
#include <numbers>
#include <string>
#include <vector>

#include "postproc/color_map.hpp"
#include "postproc/result.hpp"

namespace torsowave::postproc {

struct Blob {
  std::uint16_t tissue;
  double x, y, half_width, half_height;  // [mm]
};

/// An invented abdomen: nested ellipses and organs, later over earlier.
inline const std::vector<Blob> organs = {
    {1, 0, 0, 170, 112},   {2, 0, 0, 167, 109},     {3, 0, 0, 153, 95},
    {4, 0, 6, 138, 80},    {5, -78, 12, 54, 56},    {6, 62, 34, 46, 26},
    {7, 62, 34, 40, 20},   {8, 112, -12, 16, 38},   {9, -62, -52, 22, 24},
    {9, 62, -52, 22, 24},  {10, -62, -52, 12, 13},  {10, 62, -52, 12, 13},
    {11, 0, -58, 21, 19},  {12, 0, -58, 15, 13},    {13, 0, -84, 8, 8},
    {14, 8, -26, 11, 11},  {15, 8, -26, 9, 9},      {16, -16, -28, 9, 6},
    {17, -42, 52, 13, 15}, {18, 10, 8, 38, 9},      {19, -10, 50, 17, 13},
    {20, 20, 58, 15, 10},  {21, -100, -36, 15, 15}, {22, -40, -70, 14, 7},
    {23, 40, -70, 14, 7}};

inline const std::vector<std::string> organ_titles = {"Air",
                                                      "Skin (dry)",
                                                      "Fat",
                                                      "Muscle",
                                                      "Visceral fat",
                                                      "Liver",
                                                      "Stomach wall",
                                                      "Stomach contents",
                                                      "Spleen",
                                                      "Kidney cortex",
                                                      "Kidney medulla",
                                                      "Cortical bone",
                                                      "Cancellous bone",
                                                      "Spinal cord",
                                                      "Aorta wall",
                                                      "Blood",
                                                      "Vena cava",
                                                      "Gall bladder",
                                                      "Pancreas",
                                                      "Small intestine",
                                                      "Duodenum",
                                                      "Colon, ascending",
                                                      "Psoas, right side of the patient",
                                                      "Psoas, left"};

[[nodiscard]] inline GridInfo make_grid(int nx, int ny, double cell)
{
  GridInfo grid;
  grid.nx = nx;
  grid.ny = ny;
  grid.cell = cell;
  grid.time_step = cell / 4.3e8;
  for (int i = 0; i < nx; ++i) {
    grid.x.push_back((i + 0.5 - 0.5 * nx) * cell);
  }
  for (int j = 0; j < ny; ++j) {
    grid.y.push_back((j + 0.5 - 0.5 * ny) * cell);
  }
  return grid;
}

inline void paint(Result& result, const std::vector<Blob>& blobs)
{
  for (int j = 0; j < result.grid.ny; ++j) {
    for (int i = 0; i < result.grid.nx; ++i) {
      const double x = result.grid.x[static_cast<std::size_t>(i)] * 1e3;
      const double y = result.grid.y[static_cast<std::size_t>(j)] * 1e3;
      std::uint16_t label = 0;
      for (const Blob& blob : blobs) {
        if (std::hypot((x - blob.x) / blob.half_width, (y - blob.y) / blob.half_height) <=
            1) {
          label = blob.tissue;
        }
      }
      result.labels.push_back(label);
    }
  }
}

/// Far-zone cylindrical wave of a line current of 1 A in a lossy medium,
/// |E| = (omega mu0 / 4) sqrt(2 / (pi |k| r)) exp(-alpha r): the large-argument form of
/// the Hankel function, DLMF 10.17.6.
[[nodiscard]] inline std::complex<double> wave(double r, double frequency)
{
  const double omega = 2.0 * std::numbers::pi * frequency;
  const double beta = omega * 7.3 / 299792458.0;
  const double alpha = 42.0 * frequency / 2.45e9;
  const double distance = std::max(r, 0.5e-3);
  const double size = omega * 4e-7 * std::numbers::pi / 4.0 *
                      std::sqrt(2.0 / (std::numbers::pi * beta * distance));
  return std::polar(size * std::exp(-alpha * distance), -beta * distance);
}

inline void add_fields(Result& result)
{
  PhasorField field{"Ez", "V/m", "electric field along z", {}};
  const std::vector<double> frequencies = {0.4035e9, 0.915e9, 2.45e9};
  for (const double frequency : frequencies) {
    FrequencyResult each;
    each.frequency = frequency;
    result.frequencies.push_back(each);
    for (std::size_t c = 0; c < result.labels.size(); ++c) {
      const auto nx = static_cast<std::size_t>(result.grid.nx);
      const double r = std::hypot(result.grid.x[c % nx] - result.implant->x,
                                  result.grid.y[c / nx] - result.implant->y);
      const std::complex<double> value = wave(r, frequency);
      field.values.emplace_back(value);
      result.sar.push_back(
          result.labels[c] == 0 ? 0.0F : static_cast<float>(std::norm(value) * 1e-7));
    }
  }
  result.phasors.push_back(std::move(field));
}

inline void add_sectors(Result& result)
{
  for (int s = 0; s < 72; ++s) {
    const double angle = 2.5 + 5.0 * s;
    result.sector_angle_deg.push_back(angle);
    for (FrequencyResult& each : result.frequencies) {
      const double ghz = each.frequency * 1e-9;
      const double cosine = std::cos((angle - 250.0) * std::numbers::pi / 180.0);
      const double ripple = std::cos(angle * ghz * 0.15);
      const double power = std::exp(ghz * (4.0 * cosine + 0.8 * ripple) - 3.0 * ghz);
      each.sector_power.push_back(ghz > 2.0 && s >= 15 && s < 19 ? -1e-6 : 1e-2 * power);
    }
  }
}

[[nodiscard]] inline Result make_result()
{
  Result result;
  result.title = "Invented abdomen with a graft sensor";
  result.mode = "TMz";
  result.grid = make_grid(460, 340, 1e-3);
  result.tissue_titles = organ_titles;
  for (std::size_t t = 0; t < organ_titles.size(); ++t) {
    result.tissues.push_back("tissue_" + std::to_string(t));
  }
  result.implant = geometry::Point{8e-3, -26e-3};
  paint(result, organs);
  for (std::size_t t = 0; t < organ_titles.size(); ++t) {
    const auto cells = std::count(result.labels.begin(), result.labels.end(), t);
    result.materials.push_back(
        {result.tissues[t], 0.005, 3, 1e-6 * static_cast<double>(cells)});
  }
  add_fields(result);
  add_sectors(result);
  return result;
}

/// The same left and right of x = 0, and of a size that is drawn at 3 pixels a cell.
[[nodiscard]] inline Result make_symmetric_result()
{
  Result result;
  result.title = "Symmetric";
  result.mode = "TMz";
  result.grid = make_grid(364, 270, 1e-3);
  result.tissues = {"air", "muscle", "bone"};
  result.tissue_titles = {"Air", "Muscle", "Bone"};
  result.implant->y = 20e-3;
  paint(result, {{1, 0, 0, 170, 112}, {2, -62, -52, 22, 24}, {2, 62, -52, 22, 24}});
  add_fields(result);
  return result;
}

inline void expect_color(Color seen, Color wanted, const std::string& where)
{
  EXPECT_TRUE(seen == wanted) << where << ": " << int{seen.red} << ' ' << int{seen.green}
                              << ' ' << int{seen.blue} << ", wanted " << int{wanted.red}
                              << ' ' << int{wanted.green} << ' ' << int{wanted.blue};
}

}  // namespace torsowave::postproc
