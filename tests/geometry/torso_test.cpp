#include "geometry/torso.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <map>
#include <random>
#include <set>

#include "geometry/region.hpp"
#include "geometry/slices.hpp"

namespace torsowave::geometry {
namespace {

constexpr std::array levels{TorsoLevel::thorax, TorsoLevel::upper_abdomen,
                            TorsoLevel::kidneys, TorsoLevel::pelvis};
constexpr std::array all_builds{TorsoBuild::lean, TorsoBuild::median, TorsoBuild::heavy};

const std::vector<Point>& corners(const Shape& shape)
{
  return std::get<Polygon>(shape.outline).points;
}

double length_of(const Shape& shape)
{
  const std::vector<Point>& p = corners(shape);
  double length = 0.0;
  for (std::size_t k = 0; k < p.size(); ++k) {
    const Point next = p[(k + 1) % p.size()];
    length += std::hypot(next.x - p[k].x, next.y - p[k].y);
  }
  return length;
}

struct Torso {
  TorsoParameters lengths;
  std::vector<Shape> shapes;
};

std::vector<Torso> make_torsos()
{
  std::vector<Torso> torsos;
  for (const TorsoLevel level : levels) {
    for (const TorsoBuild build : all_builds) {
      const TorsoParameters p = torso_defaults(level, build);
      torsos.push_back({p, torso_shapes(p)});
    }
  }
  std::mt19937 generator(11);
  const auto any = [&](double from, double to) {
    return std::uniform_real_distribution<double>(from, to)(generator);
  };
  while (torsos.size() < 48) {
    const TorsoParameters p{levels.at(torsos.size() % 4),
                            any(0.25, 0.6),
                            any(0.17, 0.45),
                            any(0.001, 0.005),
                            any(0.001, 0.05),
                            any(0.01, 0.03)};
    try {
      torsos.push_back({p, torso_shapes(p)});
    } catch (const TorsoError&) {  // drawn again
    }
  }
  return torsos;
}

/// All twelve, and slices of random lengths that are accepted.
const std::vector<Torso>& many_torsos()
{
  static const std::vector<Torso> torsos = make_torsos();
  return torsos;
}

std::string words(const TorsoParameters& p)
{
  testing::Message message;
  message << "level " << static_cast<int>(p.level) << ", " << p.breadth / mm << " x "
          << p.depth / mm << " mm, skin " << p.skin / mm << ", fat " << p.fat / mm
          << ", muscle " << p.muscle / mm << " mm";
  return message.GetString();
}

TEST(Torso, HasTheBreadthAndTheDepthThatWereAskedFor)
{
  for (const auto& [p, shapes] : many_torsos()) {
    const Rectangle box = bounding_box(shapes);
    EXPECT_NEAR(box.max.x - box.min.x, p.breadth, 0.1 * mm) << words(p);
    EXPECT_NEAR(box.max.y - box.min.y, p.depth, 0.1 * mm) << words(p);
    EXPECT_NEAR(box.max.x + box.min.x, 0.0, 0.1 * mm) << words(p);
    EXPECT_NEAR(box.max.y + box.min.y, 0.0, 0.1 * mm) << words(p);
  }
}

// The shortest way from a layer's inner side to the skin is its depth: layers are
// measured at right angles to the surface. Chords of 3 mm leave 0.05 mm.
TEST(Torso, LayersHaveTheirThicknessEverywhere)
{
  for (const auto& [p, shapes] : many_torsos()) {
    const Region skin(shapes[0].outline, "skin");
    double depth = 0.0;
    const std::array thickness{p.skin, p.fat, p.muscle};
    for (std::size_t layer = 0; layer < thickness.size(); ++layer) {
      depth += thickness.at(layer);
      double least = 1.0;
      double largest = 0.0;
      for (const Point point : corners(shapes[layer + 1])) {
        ASSERT_TRUE(skin.contains(point)) << words(p);
        least = std::min(least, skin.outline_gap(point));
        largest = std::max(largest, skin.outline_gap(point));
      }
      EXPECT_NEAR(least, depth, 0.05 * mm) << words(p) << ", layer " << layer;
      EXPECT_NEAR(largest, depth, 0.05 * mm) << words(p) << ", layer " << layer;
    }
  }
}

TEST(Torso, NothingReachesIntoTheFatAndSoftOrgansStayInsideTheWall)
{
  const std::set<std::string> in_the_wall{"muscle",
                                          "fat_average_infiltrated",
                                          "bone_cortical",
                                          "bone_cancellous",
                                          "cartilage",
                                          "tendon",
                                          "cerebrospinal_fluid",
                                          "spinal_cord",
                                          "nerve"};
  for (const auto& [p, shapes] : many_torsos()) {
    const Region wall(shapes[2].outline, "muscle");
    const Region room(shapes[3].outline, "room");
    for (std::size_t s = 4; s < shapes.size(); ++s) {
      const Region& limit = in_the_wall.contains(shapes[s].tissue) ? wall : room;
      const auto out = std::ranges::find_if(corners(shapes[s]), [&](Point point) {
        return !limit.contains(point) && limit.outline_gap(point) > 0.1 * mm;
      });
      EXPECT_EQ(out, corners(shapes[s]).end())
          << words(p) << ", " << shapes[s].tissue << " at " << out->x / mm << ", "
          << out->y / mm;
    }
  }
}

/// A median slice in cells of 3 mm.
const TissueMap& median_map(TorsoLevel level)
{
  static std::map<TorsoLevel, TissueMap> maps;
  if (!maps.contains(level)) {
    maps[level] = voxelise(centred(130, 90, 3.0 * mm), "air",
                           torso_shapes(torso_defaults(level, TorsoBuild::median)), {},
                           Averaging::volume);
  }
  return maps[level];
}

/// Centroid of a tissue in a median slice [m].
Point middle_of(TorsoLevel level, const std::string& tissue)
{
  const TissueMap& map = median_map(level);
  Point sum;
  double count = 0.0;
  for (int j = 0; j < map.raster.ny; ++j) {
    for (int i = 0; i < map.raster.nx; ++i) {
      if (map.tissues[map.labels[map.raster.at(i, j)]] == tissue) {
        sum = {sum.x + map.raster.x(i), sum.y + map.raster.y(j)};
        count += 1.0;
      }
    }
  }
  return {sum.x / count, sum.y / count};
}

// The liver lies on the right, heart, stomach, spleen and aorta on the left, the spine at
// the back (any textbook of anatomy; common practice, no published source). The right is
// -x.
TEST(Torso, LeftAndRightFrontAndBackAreThePatients)
{
  EXPECT_GT(middle_of(TorsoLevel::thorax, "heart_muscle").x, 5.0 * mm);
  EXPECT_GT(middle_of(TorsoLevel::thorax, "heart_muscle").y, 5.0 * mm);
  EXPECT_GT(middle_of(TorsoLevel::thorax, "aorta").x, 5.0 * mm);
  EXPECT_LT(middle_of(TorsoLevel::thorax, "spinal_cord").y, -50.0 * mm);
  EXPECT_GT(middle_of(TorsoLevel::thorax, "cartilage").y, 50.0 * mm);
  const auto upper = [](const char* tissue) {
    return middle_of(TorsoLevel::upper_abdomen, tissue);
  };
  EXPECT_LT(upper("liver").x, -30.0 * mm);
  EXPECT_GT(upper("stomach").x, 30.0 * mm);
  EXPECT_GT(upper("stomach").y, 0.0);
  EXPECT_GT(upper("spleen").x, 60.0 * mm);
  EXPECT_LT(upper("spleen").y, 0.0);
  EXPECT_GT(upper("aorta").x, 3.0 * mm);
  EXPECT_LT(upper("blood_vessel_wall").x, -10.0 * mm);  // of the vena cava
  EXPECT_LT(middle_of(TorsoLevel::kidneys, "liver").x, -60.0 * mm);
  EXPECT_LT(middle_of(TorsoLevel::kidneys, "duodenum").x, -20.0 * mm);
  EXPECT_NEAR(middle_of(TorsoLevel::kidneys, "kidney").x, 0.0, 2.0 * mm);
  EXPECT_GT(middle_of(TorsoLevel::pelvis, "bladder").y, 20.0 * mm);
}

// Gordon et al., "2012 Anthropometric Survey of U.S. Army Personnel: methods and summary
// statistics", NATICK/TR-15/007 (2014), men's waist circumference, percentiles 5, 50, 95
// computed from the public data file. The outline has the survey's waist breadth and
// depth, and one form for all three, whose exponents were chosen with the circumferences
// in view (docs/torso.md).
TEST(Torso, WaistHasThePublishedCircumference)
{
  const std::array published{768.0 * mm, 937.0 * mm, 1131.0 * mm};
  for (std::size_t b = 0; b < published.size(); ++b) {
    const auto shapes =
        torso_shapes(torso_defaults(TorsoLevel::kidneys, all_builds.at(b)));
    EXPECT_NEAR(length_of(shapes.front()) / published.at(b), 1.0, 0.01) << b;
  }
}

// The same source: men's chest circumference, which the breadth was chosen for, to 1 mm.
TEST(Torso, ChestHasThePublishedCircumference)
{
  const std::array published{922.0 * mm, 1056.0 * mm, 1207.0 * mm};
  for (std::size_t b = 0; b < published.size(); ++b) {
    const auto shapes =
        torso_shapes(torso_defaults(TorsoLevel::thorax, all_builds.at(b)));
    EXPECT_NEAR(length_of(shapes.front()) / published.at(b), 1.0, 0.002) << b;
  }
}

// Fat that is added outside a body leaves everything inside where it is.
TEST(Torso, FatGoesAroundTheSameInside)
{
  for (const TorsoLevel level : levels) {
    const TorsoParameters thin = torso_defaults(level, TorsoBuild::median);
    TorsoParameters thick = thin;
    thick.fat += 20.0 * mm;
    thick.breadth += 40.0 * mm;
    thick.depth += 40.0 * mm;
    const std::vector<Shape> a = torso_shapes(thin);
    const std::vector<Shape> b = torso_shapes(thick);
    ASSERT_EQ(a.size(), b.size());
    for (std::size_t s = 2; s < a.size(); ++s) {
      ASSERT_EQ(corners(a[s]).size(), corners(b[s]).size()) << a[s].tissue;
      for (std::size_t k = 0; k < corners(a[s]).size(); ++k) {
        EXPECT_NEAR(corners(a[s])[k].x, corners(b[s])[k].x, 1e-6 * mm) << a[s].tissue;
        EXPECT_NEAR(corners(a[s])[k].y, corners(b[s])[k].y, 1e-6 * mm) << a[s].tissue;
      }
    }
  }
}

// How large is the largest section of an organ? A ball of its published mass has a
// section of pi (3 m / (4 pi rho))^(2/3); long organs have less across the body. Masses
// (lungs with blood): ICRP Publication 89 (2002), reference man, as quoted in tables of
// the literature; 1.05 g/cm3 for soft organs (from memory) and 0.38 g/cm3 for the
// inflated lung (as quoted in Health Physics, 2012). A plausibility, no more: the factors
// are a judgement.
TEST(Torso, OrgansHaveSectionsLikeThoseOfTheirPublishedMasses)
{
  struct Organ {
    TorsoLevel level;
    const char* tissue;
    double mass;  // [kg] of one
    double density;
    int count;
  };
  for (const Organ& organ : {Organ{TorsoLevel::upper_abdomen, "liver", 1.8, 1050.0, 1},
                             Organ{TorsoLevel::upper_abdomen, "spleen", 0.15, 1050.0, 1},
                             Organ{TorsoLevel::kidneys, "kidney", 0.155, 1050.0, 2},
                             Organ{TorsoLevel::thorax, "lung_inflated", 0.6, 380.0, 2}}) {
    const double volume = organ.mass / organ.density;
    const double ball = pi * std::pow(3.0 * volume / (4.0 * pi), 2.0 / 3.0);
    const double section = area_of(median_map(organ.level), organ.tissue) / organ.count;
    EXPECT_GT(section / ball, 0.6) << organ.tissue;
    EXPECT_LT(section / ball, 1.1) << organ.tissue;
  }
}

std::string refused(TorsoParameters p)
{
  try {
    static_cast<void>(torso_shapes(p));
  } catch (const TorsoError& error) {
    return error.parameter() + ": " + error.what();
  }
  return "";
}

TEST(Torso, RefusesWhatLeavesNoRoom)
{
  TorsoParameters p = torso_defaults(TorsoLevel::kidneys, TorsoBuild::lean);
  p.fat = 30.0 * mm;
  EXPECT_EQ(refused(p),
            "breadth: a breadth of 272 mm leaves the organs of this level too "
            "little room inside skin, fat and muscle (45.35 mm in all); with "
            "these layers it must be 302.7 mm to 470.7 mm, or take thinner "
            "layers");
  p.breadth = 302.8 * mm;
  EXPECT_EQ(refused(p).substr(0, 27), "depth: a depth of 188 mm le");
  p.depth = 400.0 * mm;
  EXPECT_NE(refused(p).find("too much room"), std::string::npos) << refused(p);
  p.fat = 51.0 * mm;
  EXPECT_EQ(refused(p), "fat: must be 1 mm to 50 mm, got 51 mm");
  p = torso_defaults(TorsoLevel::thorax, TorsoBuild::heavy);
  p.skin = 0.9 * mm;
  EXPECT_EQ(refused(p), "skin: must be 1 mm to 5 mm, got 0.9 mm");
  p.skin = 2.0 * mm;
  p.muscle = 31.0 * mm;
  EXPECT_EQ(refused(p), "muscle: must be 10 mm to 30 mm, got 31 mm");
}

}  // namespace
}  // namespace torsowave::geometry
