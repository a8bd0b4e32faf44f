#include "materials/tissue.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <limits>
#include <set>
#include <stdexcept>

namespace torsowave::materials {
namespace {

TEST(TissueLibrary, HoldsEveryTissueOnceAndSorted)
{
  const std::span<const Tissue> library = tissue_library();
  std::vector<std::string> tissues;
  std::set<std::string> names;
  for (const Tissue& tissue : library) {
    EXPECT_TRUE(names.insert(tissue.name).second) << tissue.name << " twice";
    EXPECT_FALSE(tissue.display_name.empty()) << tissue.name;
    EXPECT_FALSE(tissue.source.empty()) << tissue.name;
    EXPECT_EQ(tissue.density.has_value(), !tissue.density_source.empty()) << tissue.name;
    if (std::holds_alternative<ColeCole>(tissue.model)) {
      tissues.push_back(tissue.name);
    }
  }
  EXPECT_EQ(tissues.size(), 59U);
  EXPECT_TRUE(std::ranges::is_sorted(tissues));
}

TEST(TissueLibrary, EveryTissueHasADensityButNail)
{
  for (const Tissue& tissue : tissue_library()) {
    if (std::holds_alternative<ColeCole>(tissue.model)) {
      EXPECT_EQ(tissue.density.has_value(), tissue.name != "nail") << tissue.name;
    }
    if (tissue.density) {
      EXPECT_GT(*tissue.density, 300.0) << tissue.name;
      EXPECT_LT(*tissue.density, 2500.0) << tissue.name;
    }
  }
}

TEST(TissueLibrary, SharedTissuesEqualTheirModel)
{
  using Pair = std::pair<const char*, const char*>;
  const auto shared = std::to_array<Pair>({{"blood_vessel_wall", "aorta"},
                                           {"body_fluid", "vitreous_humour"},
                                           {"duodenum", "stomach"},
                                           {"gland", "thyroid"},
                                           {"lens", "lens_cortex"},
                                           {"lymph", "thyroid"},
                                           {"mucous_membrane", "skin_wet"},
                                           {"nail", "bone_cortical"},
                                           {"oesophagus", "stomach"},
                                           {"pancreas", "thyroid"},
                                           {"prostate", "testis"},
                                           {"retina", "sclera"},
                                           {"spinal_cord", "nerve"},
                                           {"thymus", "thyroid"},
                                           {"tooth", "bone_cortical"}});
  for (const auto& [name, model] : shared) {
    const Tissue* tissue = find_tissue(name);
    ASSERT_NE(tissue, nullptr) << name;
    EXPECT_EQ(relative_permittivity(*tissue, 1.3e9),
              relative_permittivity(*find_tissue(model), 1.3e9))
        << name;
    EXPECT_NE(tissue->source.find(std::string{"same parameters as "} + model),
              std::string::npos)
        << tissue->source;
  }
}

TEST(TissueLibrary, IsPassiveAndFallsWithFrequency)
{
  for (const Tissue& tissue : tissue_library()) {
    double last = std::numeric_limits<double>::infinity();
    for (double frequency = 10.0; frequency < 2e12; frequency *= 2.3) {
      const std::complex<double> eps = relative_permittivity(tissue, frequency);
      EXPECT_LE(eps.imag(), 0.0) << tissue.name << " at " << frequency;
      EXPECT_GE(eps.real(), 1.0) << tissue.name << " at " << frequency;
      EXPECT_LE(eps.real(), last) << tissue.name << " at " << frequency;
      last = eps.real();
    }
  }
}

TEST(TissueLibrary, CapsuleMaterials)
{
  EXPECT_EQ(relative_permittivity(*find_tissue("air"), 1e9),
            std::complex<double>(1.0, 0.0));
  EXPECT_FALSE(find_tissue("air")->density.has_value());
  const std::complex<double> polymer =
      relative_permittivity(*find_tissue("peek_like"), 1e9);
  EXPECT_NEAR(polymer.real(), 3.2, 1e-12);
  EXPECT_NEAR(-polymer.imag() / polymer.real(), 0.003, 1e-12);
  EXPECT_EQ(relative_permittivity(*find_tissue("alumina"), 1e9),
            std::complex<double>(9.8, 0.0));
}

TEST(TissueLibrary, UnknownNameGivesNull)
{
  EXPECT_EQ(find_tissue("Muscle"), nullptr);
}

TEST(Tissue, PerfectConductorHasNoPermittivity)
{
  const Tissue tin{"tin", "Tin", PerfectConductor{}, {}, "", ""};
  EXPECT_TRUE(is_conductor(tin));
  EXPECT_FALSE(is_conductor(*find_tissue("blood")));
  try {
    (void)relative_permittivity(tin, 1e9);
    FAIL() << "no exception";
  } catch (const std::invalid_argument& error) {
    EXPECT_STREQ(error.what(), "tin is a perfect conductor: it has no permittivity");
  }
}

TEST(NearestName, FindsTheLeastEditDistance)
{
  const std::vector<std::string> names{"muscle", "skin_dry", "skin_wet",
                                       "fat_not_infiltrated"};
  EXPECT_EQ(nearest_name("mucsle", names), "muscle");
  EXPECT_EQ(nearest_name("skin", names), "");  // four letters from skin_dry: too far
  EXPECT_EQ(nearest_name("skin_dyr", names), "skin_dry");
  EXPECT_EQ(nearest_name("skin_", names), "");
  EXPECT_EQ(nearest_name("skin_xx", names), "skin_dry");  // a tie: the first
  EXPECT_EQ(nearest_name("quartz", names), "");
  EXPECT_EQ(nearest_name("x", std::vector<std::string>{"xyz", "abc"}), "xyz");
  EXPECT_EQ(nearest_name("muscle", {}), "");
}

}  // namespace
}  // namespace torsowave::materials
