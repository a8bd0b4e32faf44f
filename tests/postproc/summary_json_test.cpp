#include "postproc/summary_json.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>
#include <sstream>

#include "postproc/sample_result.hpp"
#include "postproc/sha256.hpp"
#include "postproc/temporary_folder.hpp"
#include "postproc/version.hpp"

namespace torsowave::postproc {
namespace {

using Json = nlohmann::ordered_json;

std::vector<std::string> keys_of(const Json& object)
{
  std::vector<std::string> keys;
  for (const auto& [key, value] : object.items()) {
    keys.push_back(key);
  }
  return keys;
}

using Keys = std::vector<std::string>;

TEST(SummaryJson, HasTheKeysOfTheContractInOrder)
{
  const Json summary = Json::parse(summary_json(sample_result()));
  EXPECT_EQ(keys_of(summary),
            (Keys{"tool", "caution", "created", "scenario", "source", "grid", "run",
                  "refinement", "notes", "link_basis", "materials", "frequencies"}));
  EXPECT_EQ(keys_of(summary["tool"]), (Keys{"name", "version", "revision"}));
  EXPECT_EQ(keys_of(summary["scenario"]), (Keys{"title", "mode", "file_sha256"}));
  EXPECT_EQ(keys_of(summary["grid"]), (Keys{"nx", "ny", "cell_m", "dt_s", "steps"}));
  EXPECT_EQ(keys_of(summary["run"]),
            (Keys{"wall_s", "threads", "cell_updates_per_s", "peak_memory_bytes",
                  "stopped_because", "instruction_set"}));
  EXPECT_EQ(keys_of(summary["materials"][0]),
            (Keys{"tissue", "fit_max_relative_error", "poles", "area_mm2"}));
  EXPECT_EQ(keys_of(summary["frequencies"][0]),
            (Keys{"frequency_hz", "source_power_w_per_m", "absorbed_power_w_per_m",
                  "body_surface_power_w_per_m", "radiated_power_w_per_m",
                  "power_balance_residual", "body_surface_sectors", "far_field",
                  "body_insertion_gain_db", "antenna_gain", "link", "slab", "sar",
                  "uncertainty", "uncertainty_combined_db", "uncertainty_largest",
                  "grid_error_db"}));
  EXPECT_EQ(keys_of(summary["frequencies"][0]["absorbed_power_w_per_m"]),
            (Keys{"total", "by_tissue"}));
  EXPECT_EQ(keys_of(summary["frequencies"][0]["body_surface_sectors"]),
            (Keys{"angle_deg", "power_w_per_m", "grid_error_db"}));
  EXPECT_EQ(keys_of(summary["frequencies"][0]["far_field"]),
            (Keys{"angle_deg", "gain_db", "intensity_w_per_m_rad", "grid_error_db"}));
  EXPECT_EQ(keys_of(summary["frequencies"][0]["sar"]),
            (Keys{"slice", "beside_capsule", "away_from_capsule", "transmit_power_w",
                  "published_figures"}));
  EXPECT_EQ(keys_of(summary["frequencies"][0]["sar"]["published_figures"][0]),
            (Keys{"name", "source", "averaging_mass_g", "figure_w_per_kg", "reached_at_w",
                  "at_transmit_power_w_per_kg", "above_figure"}));
  EXPECT_EQ(keys_of(summary["refinement"]),
            (Keys{"cell_m", "ratio", "order", "steps", "wall_s"}));
}

// The sample's largest average over 1 g is 4 (W/kg)/W: 1.6 W/kg at 0.4 W.
TEST(SummaryJson, TellsOnWhichSideOfAPublishedFigureSarIs)
{
  const Json summary = Json::parse(summary_json(sample_result()));
  const Json& sar = summary["frequencies"][0]["sar"];
  EXPECT_EQ(sar["slice"]["local"]["w_per_kg_per_w_per_m"], 3.0);
  EXPECT_FALSE(sar["slice"]["local"].contains("side_m"));
  EXPECT_EQ(sar["slice"]["average_1g"]["side_m"], 0.01);
  EXPECT_EQ(sar["slice"]["average_10g"], nullptr);
  EXPECT_EQ(sar["beside_capsule"]["average_1g_w_per_kg_per_w"], 4.0);
  EXPECT_EQ(sar["away_from_capsule"]["local"]["w_per_kg_per_w"], 1.5);
  EXPECT_EQ(sar["away_from_capsule"]["farther_than_m"], 0.02);
  const Json& limit = sar["published_figures"][0];
  EXPECT_EQ(limit["figure_w_per_kg"], 1.6);
  EXPECT_DOUBLE_EQ(limit["reached_at_w"].get<double>(), 0.4);
  EXPECT_EQ(limit["at_transmit_power_w_per_kg"], 2.0);
  EXPECT_EQ(limit["above_figure"], true);
  EXPECT_EQ(summary["frequencies"][1]["sar"], nullptr);
}

TEST(SummaryJson, HoldsTheValues)
{
  const Json summary = Json::parse(summary_json(sample_result()));
  EXPECT_EQ(summary["tool"]["version"], tool_version());
  EXPECT_EQ(summary["caution"], caution);
  EXPECT_EQ(summary["scenario"]["title"], "Invented sample, 1 µW");
  EXPECT_EQ(summary["grid"]["cell_m"], 0.5e-3);
  EXPECT_EQ(summary["run"]["peak_memory_bytes"], 123456);
  EXPECT_EQ(summary["materials"][1]["tissue"], "muscle");
  EXPECT_DOUBLE_EQ(summary["materials"][1]["area_mm2"].get<double>(), 0.25);
  const Json& low = summary["frequencies"][0];
  EXPECT_EQ(low["frequency_hz"], 403.5e6);
  EXPECT_EQ(low["absorbed_power_w_per_m"]["by_tissue"]["muscle"], 7.0);
  EXPECT_EQ(low["body_surface_power_w_per_m"], 1.0);
  EXPECT_EQ(low["body_surface_sectors"]["angle_deg"], (Json{45.0, 135.0, 225.0, 315.0}));
  EXPECT_EQ(low["body_surface_sectors"]["power_w_per_m"], (Json{0.1, 0.2, 0.3, 0.4}));
  EXPECT_EQ(low["body_surface_sectors"]["grid_error_db"], (Json{0.01, 0.02, 0.03, 0.04}));
  EXPECT_EQ(low["far_field"]["angle_deg"], (Json{0.0, 120.0, 240.0}));
  EXPECT_EQ(low["far_field"]["gain_db"], (Json{-8.0, -5.0, -11.0}));
  EXPECT_EQ(low["far_field"]["intensity_w_per_m_rad"], (Json{0.25, 0.5, 0.125}));
  EXPECT_EQ(low["far_field"]["grid_error_db"], (Json{0.1, 0.2, 0.3}));
  EXPECT_EQ(low["body_insertion_gain_db"], (Json{-20.0, nullptr, -23.0}));
  EXPECT_EQ(low["uncertainty"]["tissue_data"], 1.5);
  EXPECT_EQ(low["uncertainty_combined_db"], 0.75);  // fit and grid
  EXPECT_EQ(low["uncertainty_largest"], "grid");
  EXPECT_EQ(low["grid_error_db"]["source"], 0.125);
  EXPECT_EQ(summary["refinement"]["cell_m"], 0.25e-3);
  EXPECT_EQ(summary["notes"][0], "invented");
}

TEST(SummaryJson, WhatIsMissingOrNotFiniteIsNull)
{
  Result result = sample_result();
  result.frequencies[1].radiated_power = std::numeric_limits<double>::infinity();
  result.frequencies[1].absorbed_by_tissue.clear();
  const std::string text = summary_json(result);
  EXPECT_EQ(text.find("nan"), std::string::npos);
  EXPECT_EQ(text.find("inf"), std::string::npos);
  const Json high = Json::parse(text)["frequencies"][1];
  EXPECT_TRUE(high["body_surface_power_w_per_m"].is_null());
  EXPECT_TRUE(high["body_surface_sectors"].is_null());
  EXPECT_TRUE(high["power_balance_residual"].is_null());
  EXPECT_TRUE(high["radiated_power_w_per_m"].is_null());
  EXPECT_EQ(high["absorbed_power_w_per_m"]["by_tissue"], Json::object());
  EXPECT_TRUE(high["far_field"].is_null());
  EXPECT_TRUE(high["body_insertion_gain_db"].is_null());
}

TEST(SummaryJson, APlaneWaveHasAScatteringWidthAndNoInsertionGain)
{
  Result result = sample_result();
  result.frequencies[0].far_field->insertion_gain_db.clear();
  result.frequencies[0].far_field->scattering_width = {1.0, 2.0, 3.0};
  const Json low = Json::parse(summary_json(result))["frequencies"][0];
  EXPECT_EQ(low["far_field"]["scattering_width_m"], (Json{1.0, 2.0, 3.0}));
  EXPECT_TRUE(low["body_insertion_gain_db"].is_null());
}

TEST(SummaryJson, SurvivesATitleThatIsNoUtf8)
{
  Result result = sample_result();
  result.title = "caf\xe9";
  EXPECT_EQ(Json::parse(summary_json(result))["scenario"]["title"], "caf\ufffd");
}

TEST(SummaryJson, AnEmptyResultIsStillWhole)
{
  const Json summary = Json::parse(summary_json(Result{}));
  EXPECT_EQ(summary["frequencies"], Json::array());
  EXPECT_EQ(summary["materials"], Json::array());
}

TEST(WriteSummary, ReplacesTheFileAndLeavesNothingElse)
{
  const TemporaryFolder folder;
  const auto path = folder / "summary.json";
  std::ofstream(path) << "old";
  write_summary(path, sample_result());
  std::ostringstream text;
  text << std::ifstream(path).rdbuf();
  EXPECT_EQ(text.str(), summary_json(sample_result()));
  std::filesystem::remove(path);
  EXPECT_TRUE(folder.is_empty());
}

TEST(WriteSummary, AFullDiskLeavesTheOldFile)
{
  const TemporaryFolder folder;
  const auto path = folder / "summary.json";
  std::ofstream(path) << "old";
  const std::string message = message_of<WriteError>([&] {
    const FileSizeLimit full(100);
    write_summary(path, sample_result());
  });
  EXPECT_NE(message.find(path.string() + ": File too large"), std::string::npos)
      << message;
  EXPECT_EQ(std::filesystem::file_size(path), 3U);
  std::filesystem::remove(path);
  EXPECT_TRUE(folder.is_empty());
}

TEST(WriteFully, TellsThatTheDeviceIsFull)
{
  const int full = ::open("/dev/full", O_WRONLY | O_CLOEXEC);
  ASSERT_GE(full, 0);
  const std::string message =
      message_of<WriteError>([&] { write_fully(full, "text", "summary.json"); });
  ::close(full);
  EXPECT_EQ(message, "cannot write summary.json: No space left on device");
}

// NIST, FIPS PUB 180-4 names the algorithm; the messages and digests are those of NIST's
// "Examples with Intermediate Values" for SHA-256 (first two) and FIPS PUB 180-2,
// appendix B.3 (million a), recomputed with GNU coreutils sha256sum.
TEST(Sha256, MatchesThePublishedExamples)
{
  EXPECT_EQ(sha256("abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha256(std::string(1'000'000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

// Lengths around the block's edge, where padding needs a block more; digests from GNU
// coreutils sha256sum.
TEST(Sha256, PadsAtTheEdgeOfABlock)
{
  EXPECT_EQ(sha256(""),
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha256(std::string(55, 'b')),
            "eb2c86e932179f4ba13fe8715a26124b77d6bad290b9b4c1cc140cf633300c19");
  EXPECT_EQ(sha256(std::string(56, 'b')),
            "a5fc6e203a4c2b657d0d153885932414b2ffc6a93f0f8bf8b3183315e5a7212c");
  EXPECT_EQ(sha256(std::string(64, 'b')),
            "a0fab1377f49a759b57f63318262ebe89fabfc990e8e93ceac2984561482b9d4");
}

}  // namespace
}  // namespace torsowave::postproc
