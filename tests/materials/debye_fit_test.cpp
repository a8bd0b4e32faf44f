#include "materials/debye_fit.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "materials/constants.hpp"

namespace torsowave::materials {
namespace {

std::vector<Tissue> body_tissues()
{
  std::vector<Tissue> tissues;
  for (const Tissue& tissue : tissue_library()) {
    if (std::holds_alternative<ColeCole>(tissue.model)) {
      tissues.push_back(tissue);
    }
  }
  return tissues;
}

std::vector<Tissue> named(std::initializer_list<const char*> names)
{
  std::vector<Tissue> tissues;
  for (const char* name : names) {
    tissues.push_back(*find_tissue(name));
  }
  return tissues;
}

/// Largest relative error over the band, on samples of the test's own.
double sampled_error(const Tissue& tissue, const FittedMedium& medium,
                     const DebyePalette& palette, double from, double to)
{
  double worst = 0.0;
  constexpr int samples = 1001;
  for (int i = 0; i < samples; ++i) {
    const double frequency = from + (to - from) * i / (samples - 1);
    const std::complex<double> wanted = relative_permittivity(tissue, frequency);
    const std::complex<double> got =
        relative_permittivity(medium, palette.relaxation_times, frequency);
    worst = std::max(worst, std::abs(got - wanted) / std::abs(wanted));
  }
  return worst;
}

double worst_reported(const DebyePalette& palette)
{
  double worst = 0.0;
  for (const FittedMedium& medium : palette.media) {
    worst = std::max(worst, medium.max_relative_error);
  }
  return worst;
}

void expect_passive(const DebyePalette& palette)
{
  for (const FittedMedium& medium : palette.media) {
    EXPECT_GE(medium.eps_inf, 1.0) << medium.tissue;
    EXPECT_GE(medium.conductivity, 0.0) << medium.tissue;
    EXPECT_EQ(medium.strengths.size(), palette.relaxation_times.size()) << medium.tissue;
    for (const double strength : medium.strengths) {
      EXPECT_GE(strength, 0.0) << medium.tissue;
    }
    for (double frequency = 1e3; frequency < 1e15; frequency *= 3.1) {
      EXPECT_LT(relative_permittivity(medium, palette.relaxation_times, frequency).imag(),
                0.0)
          << medium.tissue << " at " << frequency;
    }
  }
}

struct Study {
  int poles;
  double least_squares;  ///< worst tissue, plain non-negative least squares
  double reweighted;  ///< worst tissue, same times, re-weighted towards the least maximum
};

class AllTissues : public testing::TestWithParam<Study> {};

// Computed, not published: an independent shared-time fit study of this project
// (scipy.optimize.nnls, several dozen starts), 0.3 to 6 GHz, 44 tissues, 400 frequencies.
INSTANTIATE_TEST_SUITE_P(Study, AllTissues,
                         testing::Values(Study{1, 0.126, 0.0871}, Study{2, 0.044, 0.027},
                                         Study{3, 0.0111, 0.0070},
                                         Study{4, 0.00323, 0.00176}));

TEST_P(AllTissues, AreFittedNoWorseThanInTheStudy)
{
  const std::vector<Tissue> tissues = body_tissues();
  ASSERT_EQ(tissues.size(), 59U);
  const DebyePalette palette =
      fit_debye(tissues, {.poles = GetParam().poles, .max_error = 1.0});
  EXPECT_EQ(palette.relaxation_times.size(), static_cast<std::size_t>(GetParam().poles));
  EXPECT_TRUE(std::ranges::is_sorted(palette.relaxation_times));
  double worst = 0.0;
  for (std::size_t t = 0; t < tissues.size(); ++t) {
    const double error = sampled_error(tissues[t], palette.media[t], palette, 0.3e9, 6e9);
    EXPECT_EQ(palette.media[t].tissue, tissues[t].name);
    EXPECT_LE(error, palette.media[t].max_relative_error * 1.001) << tissues[t].name;
    EXPECT_GE(palette.media[t].worst_frequency, 0.3e9);
    EXPECT_LE(palette.media[t].worst_frequency, 6e9);
    worst = std::max(worst, error);
  }
  EXPECT_LE(worst, GetParam().least_squares);
  EXPECT_NEAR(worst / GetParam().reweighted, 1.0, 0.02);
  expect_passive(palette);
}

TEST(DebyeFit, TakesTheFewestPolesThatKeepTheBound)
{
  const std::vector<Tissue> tissues = body_tissues();
  EXPECT_EQ(fit_debye(tissues, {.max_error = 0.10}).relaxation_times.size(), 1U);
  EXPECT_EQ(fit_debye(tissues, {.max_error = 0.03}).relaxation_times.size(), 2U);
  const DebyePalette palette = fit_debye(tissues, {});
  EXPECT_EQ(palette.relaxation_times.size(), 3U);
  EXPECT_LE(worst_reported(palette), 0.01);
  const DebyePalette wide = fit_debye(tissues, {.band_from = 0.1e9, .band_to = 10e9});
  EXPECT_EQ(wide.relaxation_times.size(), 4U);
  EXPECT_LE(worst_reported(wide), 0.01);
}

TEST(DebyeFit, NarrowBandNeedsOnePole)
{
  // Same study: one shared time reaches 0.334 % at 403.5 MHz +-10 %, none 2.2 %.
  const DebyePalette palette =
      fit_debye(body_tissues(), {.band_from = 363.15e6, .band_to = 443.85e6});
  EXPECT_EQ(palette.relaxation_times.size(), 1U);
  EXPECT_LE(worst_reported(palette), 0.00334);
}

TEST(DebyeFit, FlatMediaAreExactAndNeedNoPole)
{
  const std::vector<Tissue> tissues = named({"air", "peek_like", "alumina"});
  const DebyePalette palette = fit_debye(tissues, {});
  EXPECT_TRUE(palette.relaxation_times.empty());
  EXPECT_EQ(palette.media[0].eps_inf, 1.0);
  EXPECT_EQ(palette.media[0].conductivity, 0.0);
  EXPECT_NEAR(palette.media[1].eps_inf, 3.2, 1e-14);
  EXPECT_NEAR(palette.media[2].eps_inf, 9.8, 1e-14);
  const double sigma = std::get<DebyeMedium>(tissues[1].model).conductivity();
  EXPECT_NEAR(palette.media[1].conductivity / sigma, 1.0, 1e-12);
  EXPECT_LT(worst_reported(palette), 1e-14);
}

TEST(DebyeFit, FlatMediaAmongTissuesGetNoStrengthAtAll)
{
  const DebyePalette palette =
      fit_debye(named({"air", "muscle", "peek_like", "fat_not_infiltrated"}), {});
  ASSERT_FALSE(palette.relaxation_times.empty());
  const std::vector<double> nothing(palette.relaxation_times.size(), 0.0);
  EXPECT_EQ(palette.media[0].strengths, nothing);
  EXPECT_EQ(palette.media[2].strengths, nothing);
  EXPECT_NE(palette.media[1].strengths, nothing);
}

TEST(DebyeFit, FindsTheTimesOfCustomDebyeMedia)
{
  const std::vector<Tissue> tissues{
      {"water_like",
       "Water-like",
       DebyeMedium{5.0, 0.1, {{70.0, 8.3e-12}}},
       {},
       "test",
       ""},
      {"slow", "Slow", DebyeMedium{3.0, 0.02, {{20.0, 400e-12}}}, {}, "test", ""}};
  const DebyePalette palette = fit_debye(tissues, {.max_error = 1e-4});
  ASSERT_EQ(palette.relaxation_times.size(), 2U);
  EXPECT_NEAR(palette.relaxation_times[0] / 8.3e-12, 1.0, 1e-3);
  EXPECT_NEAR(palette.relaxation_times[1] / 400e-12, 1.0, 1e-3);
  EXPECT_LE(worst_reported(palette), 1e-4);
}

TEST(DebyeFit, FitsACustomDebyeMediumAmongTissuesWithinTheBound)
{
  std::vector<Tissue> tissues =
      named({"air", "skin_dry", "fat_not_infiltrated", "muscle"});
  tissues.push_back(
      {"gel", "Gel", DebyeMedium{6.0, 0.6, {{30.0, 60e-12}}}, {}, "test", ""});
  const DebyePalette palette = fit_debye(tissues, {});
  EXPECT_LE(worst_reported(palette), 0.01);
  EXPECT_LE(sampled_error(tissues[4], palette.media[4], palette, 0.3e9, 6e9), 0.01);
}

TEST(DebyeFit, SkipsConductorsAndRepeatsDuplicates)
{
  std::vector<Tissue> tissues = named({"aorta", "muscle", "blood_vessel_wall"});
  tissues.insert(tissues.begin(), Tissue{"tin", "Tin", PerfectConductor{}, {}, "", ""});
  const DebyePalette palette = fit_debye(tissues, {});
  ASSERT_EQ(palette.media.size(), 4U);
  EXPECT_TRUE(palette.media[0].conductor);
  EXPECT_EQ(palette.media[0].tissue, "tin");
  EXPECT_THROW(
      (void)relative_permittivity(palette.media[0], palette.relaxation_times, 1e9),
      std::invalid_argument);
  EXPECT_FALSE(palette.media[1].conductor);
  EXPECT_EQ(palette.media[3].tissue, "blood_vessel_wall");
  EXPECT_EQ(palette.media[3].strengths, palette.media[1].strengths);
  EXPECT_EQ(palette.media[3].eps_inf, palette.media[1].eps_inf);
}

TEST(DebyeFit, OnlyConductorsOrNothingIsNoError)
{
  EXPECT_TRUE(fit_debye({}, {}).media.empty());
  const std::vector<Tissue> tin{{"tin", "Tin", PerfectConductor{}, {}, "", ""}};
  EXPECT_TRUE(fit_debye(tin, {}).media.front().conductor);
  EXPECT_EQ(fit_debye(tin, {.poles = 3}).relaxation_times.size(), 3U);
}

TEST(DebyeFit, SameInputGivesTheSameBits)
{
  const std::vector<Tissue> tissues =
      named({"skin_dry", "muscle", "lung_inflated", "blood"});
  const DebyePalette first = fit_debye(tissues, {});
  const DebyePalette second = fit_debye(tissues, {});
  EXPECT_EQ(first.relaxation_times, second.relaxation_times);
  for (std::size_t t = 0; t < tissues.size(); ++t) {
    EXPECT_EQ(first.media[t].strengths, second.media[t].strengths);
    EXPECT_EQ(first.media[t].eps_inf, second.media[t].eps_inf);
    EXPECT_EQ(first.media[t].conductivity, second.media[t].conductivity);
    EXPECT_EQ(first.media[t].max_relative_error, second.media[t].max_relative_error);
  }
}

std::string refusal(const std::vector<Tissue>& tissues, const FitRequest& request)
{
  try {
    (void)fit_debye(tissues, request);
  } catch (const FitRefused& error) {
    return error.what();
  }
  return "accepted";
}

TEST(DebyeFit, RefusalNamesTissueFrequencyErrorAndRemedy)
{
  const std::vector<Tissue> tissues = named({"fat_not_infiltrated", "skin_dry"});
  const std::string fixed = refusal(tissues, {.poles = 0});
  for (const char* part : {"skin_dry: ", "0.3 to 6 GHz", "0 shared relaxation times",
                           "% at ", "max_error 1 %", "narrow the band",
                           "allow more poles (up to 4)", "raise max_error"}) {
    EXPECT_NE(fixed.find(part), std::string::npos) << part << " in: " << fixed;
  }
  const std::string automatic = refusal(tissues, {.band_from = 1e7, .band_to = 1e11});
  EXPECT_NE(automatic.find("all of 0 to 4 tried"), std::string::npos) << automatic;
  EXPECT_EQ(automatic.find("more poles"), std::string::npos) << automatic;
}

TEST(DebyeFit, RefusesRequestsThatMakeNoSense)
{
  const std::vector<Tissue> tissues = named({"muscle"});
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const FitRequest& request :
       {FitRequest{.band_from = 0.0}, FitRequest{.band_from = nan},
        FitRequest{.band_from = 2e9, .band_to = 1e9}, FitRequest{.band_to = 0.3e9},
        FitRequest{.max_error = 0.0}, FitRequest{.max_error = nan},
        FitRequest{.poles = 5}, FitRequest{.poles = -1}}) {
    EXPECT_THROW((void)fit_debye(tissues, request), std::invalid_argument);
  }
}

class OnTimes : public testing::Test {
protected:
  OnTimes() : palette(fit_debye(tissues, {}))
  {
    for (int i = 0; i < 60; ++i) {
      frequencies.push_back(0.3e9 * std::pow(20.0, i / 59.0));
    }
  }

  [[nodiscard]] std::complex<double> eps(std::size_t tissue, double frequency) const
  {
    return relative_permittivity(palette.media[tissue], palette.relaxation_times,
                                 frequency);
  }

  std::vector<Tissue> tissues =
      named({"fat_not_infiltrated", "muscle", "air", "skin_dry"});
  DebyePalette palette;
  std::vector<double> frequencies;
};

TEST_F(OnTimes, ReturnsAMediumThatIsAlreadyOnTheTimes)
{
  std::vector<std::complex<double>> targets;
  for (const double frequency : frequencies) {
    targets.push_back(eps(1, frequency));
  }
  const FittedMedium again = fit_on_times(frequencies, targets, palette.relaxation_times);
  EXPECT_LT(again.max_relative_error, 1e-12);
  EXPECT_NEAR(again.eps_inf / palette.media[1].eps_inf, 1.0, 1e-9);
  EXPECT_NEAR(again.conductivity / palette.media[1].conductivity, 1.0, 1e-9);
}

TEST_F(OnTimes, FitsHarmonicMeans)
{
  // Across an interface: 1/eps = f/eps_a + (1-f)/eps_b.
  for (const auto& [a, b] :
       {std::pair<std::size_t, std::size_t>{0, 1}, {1, 2}, {3, 0}, {3, 2}}) {
    for (const double fraction : {0.1, 0.5, 0.9}) {
      std::vector<std::complex<double>> targets;
      for (const double frequency : frequencies) {
        targets.push_back(
            1.0 / (fraction / eps(a, frequency) + (1.0 - fraction) / eps(b, frequency)));
      }
      const FittedMedium mixed =
          fit_on_times(frequencies, targets, palette.relaxation_times);
      EXPECT_LE(mixed.max_relative_error, 0.01)
          << palette.media[a].tissue << ", " << palette.media[b].tissue << ", "
          << fraction;
    }
  }
}

TEST_F(OnTimes, StaysPassiveWhateverTheTarget)
{
  // A gain medium below 1: the nearest passive medium has no loss and eps_inf at its
  // bound.
  const std::vector<std::complex<double>> targets(frequencies.size(), {0.8, 0.3});
  const FittedMedium medium =
      fit_on_times(frequencies, targets, palette.relaxation_times);
  EXPECT_EQ(medium.eps_inf, 1.0);
  EXPECT_EQ(medium.conductivity, 0.0);
  EXPECT_EQ(medium.strengths, std::vector<double>(palette.relaxation_times.size(), 0.0));
  EXPECT_NEAR(medium.max_relative_error,
              std::abs(std::complex<double>(0.2, -0.3)) /
                  std::abs(std::complex<double>(0.8, 0.3)),
              1e-12);
}

TEST_F(OnTimes, OneFrequencyIsMetExactly)
{
  const std::vector<double> one{2.45e9};
  const std::vector<std::complex<double>> target{{52.7, -12.8}};
  const FittedMedium medium = fit_on_times(one, target, palette.relaxation_times);
  EXPECT_LT(medium.max_relative_error, 1e-12);
}

TEST_F(OnTimes, RefusesUnusableArguments)
{
  const std::vector<std::complex<double>> two{{2.0, 0.0}, {2.0, 0.0}};
  const std::vector<double> good{1e9, 2e9};
  EXPECT_THROW((void)fit_on_times({}, {}, {}), std::invalid_argument);
  EXPECT_THROW((void)fit_on_times(frequencies, two, {}), std::invalid_argument);
  EXPECT_THROW((void)fit_on_times(std::vector<double>{1e9, 0.0}, two, {}),
               std::invalid_argument);
  EXPECT_THROW((void)fit_on_times(good, std::vector<std::complex<double>>{2.0, 0.0}, {}),
               std::invalid_argument);
  EXPECT_THROW((void)fit_on_times(good, two, std::vector<double>{0.0}),
               std::invalid_argument);
  EXPECT_THROW((void)fit_on_times(good, two, std::vector<double>(5, 1e-11)),
               std::invalid_argument);
  EXPECT_THROW((void)relative_permittivity(palette.media[1], {}, 1e9),
               std::invalid_argument);
}

}  // namespace
}  // namespace torsowave::materials
