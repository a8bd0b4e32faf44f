// Parts of report pages: what is embedded, which moments the animation shows, texts that
// would like to be markup, tables of sweeps read back.

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numeric>

#include "app/report_assets.hpp"
#include "app/report_film.hpp"
#include "app/report_page.hpp"
#include "app/report_parts.hpp"
#include "app/report_sweep.hpp"
#include "postproc/sample_statistics.hpp"
#include "postproc/table_file.hpp"
#include "postproc/temporary_folder.hpp"

namespace torsowave::app {
namespace {

// S. Josefsson, RFC 4648 (2006), section 10, test vectors.
TEST(Report, Base64IsThatOfTheStandard)
{
  EXPECT_EQ(base64(""), "");
  EXPECT_EQ(base64("f"), "Zg==");
  EXPECT_EQ(base64("fo"), "Zm8=");
  EXPECT_EQ(base64("foo"), "Zm9v");
  EXPECT_EQ(base64("foob"), "Zm9vYg==");
  EXPECT_EQ(base64("fooba"), "Zm9vYmE=");
  EXPECT_EQ(base64("foobar"), "Zm9vYmFy");
  EXPECT_EQ(base64("\xff\xfe"), "//4=");
}

/// An energy that rises by 10 dB a nanosecond until 10 ns and then falls by 3 dB: it is
/// within 40 dB of its peak (which the samples meet at 10.05 ns, 0.15 dB lower) from 6 to
/// 23.4 ns.
[[nodiscard]] postproc::EnergyTrace fading_energy()
{
  postproc::EnergyTrace energy;
  for (int n = 0; n < 500; ++n) {
    const double time = 0.1 * n + 0.05;
    energy.time.push_back(1e-9 * time);
    energy.total.push_back(
        std::pow(10.0, time < 10.0 ? time - 10.0 : 0.3 * (10.0 - time)));
  }
  return energy;
}

TEST(Report, TheAnimationShowsTheFieldWhileItLives)
{
  std::vector<double> times;
  for (int n = 0; n <= 100; ++n) {
    times.push_back(0.5e-9 * n + 0.02e-9);
  }
  const auto all = living_moments(fading_energy(), times, 1000);
  EXPECT_NEAR(times[all.front()], 6.52e-9, 1e-15);
  EXPECT_NEAR(times[all.back()], 23.02e-9, 1e-15);
  EXPECT_EQ(all.size(), 34U);
  const auto some = living_moments(fading_energy(), times, 7);
  ASSERT_EQ(some.size(), 7U);
  EXPECT_EQ(some.front(), all.front());
  EXPECT_EQ(some.back(), all.back());
  EXPECT_TRUE(std::ranges::is_sorted(some));
  EXPECT_EQ(living_moments({}, times, 1000).size(), times.size());
  EXPECT_EQ(living_moments(fading_energy(), {90e-9}, 10), std::vector<std::size_t>{0});
}

[[nodiscard]] std::size_t count_of(std::string_view text, std::string_view part)
{
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string_view::npos;
       at = text.find(part, at + part.size())) {
    ++count;
  }
  return count;
}

TEST(Report, TextsOfAScenarioStayTexts)
{
  const std::string hostile = "</script><script>alert('1')</script><!-- {{library}} & \"";
  nlohmann::ordered_json page;
  page["title"] = hostile;
  page["sections"] = nlohmann::ordered_json::array({{{"text", hostile}}});
  page["nan"] = NAN;
  const std::string html = report_page(page);
  EXPECT_EQ(count_of(html, "</script"), count_of(report_template(), "</script") +
                                            count_of(chart_library(), "</script"));
  EXPECT_EQ(count_of(html, "<script"), count_of(report_template(), "<script") +
                                           count_of(chart_library(), "<script"));
  EXPECT_EQ(count_of(html, "<title>&lt;/script&gt;&lt;script&gt;alert("), 1U);
  const std::string mark = "id=\"data\">";
  const std::size_t begin = html.find(mark) + mark.size();
  const auto data =
      nlohmann::json::parse(html.substr(begin, html.find("</script>", begin) - begin));
  EXPECT_EQ(data["title"], hostile);
  EXPECT_EQ(data["sections"][0]["text"], hostile);
  EXPECT_TRUE(data["nan"].is_null());
}

TEST(Report, ThePageAllowsItselfNoNetworkAndTellsTheLicence)
{
  nlohmann::ordered_json page;
  page["title"] = "Invented";
  const std::string html = report_page(page);
  EXPECT_NE(html.find("default-src 'none'"), std::string::npos);
  EXPECT_NE(html.find("Apache License"), std::string::npos);
  EXPECT_NE(html.find("Planning and teaching estimate"), std::string::npos);
}

/// Without ties 1 - 6 sum d^2 / (n (n^2 - 1)); d = 1, 1, 1, 1, 0: 1 - 24/120. With ties
/// the correlation of the ranks 1, 2.5, 2.5, 4 and 1, 2, 3, 4: 4.5/sqrt(4.5 x 5).
TEST(Report, RankCorrelationIsThatOfRanks)
{
  using Values = std::vector<double>;
  const auto of = [](const Values& x, const Values& y) {
    return postproc::rank_correlation(x, y).value();
  };
  EXPECT_NEAR(of({1, 20, 300, 4000, 50000}, {2, 1, 4, 3, 5}), 0.8, 1e-15);
  EXPECT_NEAR(of({1, 2, 2, 3}, {1, 2, 3, 4}), std::sqrt(0.9), 1e-15);
  EXPECT_NEAR(of({3, 2, 1}, {1, 2, 3}), -1.0, 1e-15);
  EXPECT_FALSE(postproc::rank_correlation(Values{1, 1}, Values{1, 2}));
  EXPECT_FALSE(postproc::rank_correlation(Values{}, Values{}));
  EXPECT_THROW(static_cast<void>(postproc::rank_correlation(Values{1}, Values{})),
               std::invalid_argument);
  EXPECT_THROW(static_cast<void>(postproc::rank_correlation(Values{NAN}, Values{1})),
               std::invalid_argument);
}

TEST(Report, ATableOfASweepIsReadAsItWasWritten)
{
  const postproc::TemporaryFolder folder;
  postproc::Table table{"sweep invented.yaml", {}, 3};
  table.columns.push_back({"status", "", "done or not", {}, {"done", "ü <", ""}});
  table.columns.push_back({"loss_db", "dB", "loss", {1.5, NAN, -2.0}, {}});
  const auto path = folder / "table.h5";
  postproc::write_table(path, table);
  const postproc::Table read = postproc::read_table(path);
  EXPECT_EQ(read.title, table.title);
  ASSERT_EQ(read.rows, 3U);
  ASSERT_EQ(read.columns.size(), 2U);
  EXPECT_EQ(read.columns[0].texts, table.columns[0].texts);
  EXPECT_EQ(read.columns[1].unit, "dB");
  EXPECT_EQ(read.columns[1].numbers[0], 1.5);
  EXPECT_TRUE(std::isnan(read.columns[1].numbers[1]));
  EXPECT_THROW(static_cast<void>(postproc::read_table(folder / "none.h5")),
               postproc::ReadError);
  std::ofstream(folder / "text.h5") << "no table";
  EXPECT_THROW(static_cast<void>(postproc::read_table(folder / "text.h5")),
               postproc::ReadError);
}

/// A sweep of one case, its table changed by `change`. \return  why it is refused
template <class Change>
std::string refusal_of_sweep(const std::string& summary, const Change& change)
{
  const postproc::TemporaryFolder folder;
  postproc::Table table{"sweep invented.yaml", {}, 1};
  table.columns = {
      {"case", "1", "", {1.0}, {}},      {"id", "", "", {}, {"aa"}},
      {"status", "", "", {}, {"done"}},  {"frequency_hz", "Hz", "", {4e8}, {}},
      {"loss_db", "dB", "", {30.0}, {}}, {"error", "", "", {}, {"none"}}};
  change(table);
  postproc::write_table(folder / "table.h5", table);
  std::filesystem::create_directories(folder / "cases/aa");
  std::ofstream(folder / "cases/aa/summary.json") << summary;
  std::ofstream(folder / "sweep.yaml") << "base: base.yaml\n";
  try {
    static_cast<void>(sweep_page(folder / ""));
  } catch (const postproc::ReadError& error) {
    return error.what();
  }
  return "accepted";
}

TEST(Report, ASweepWhoseFilesAreDamagedIsRefused)
{
  const std::string good =
      R"({"tool": {"version": "0.1.0", "revision": "none"}, "source": {"power_unit": "W/m"},
          "scenario": {"file_sha256": ""}, "grid": {}, "materials": [], "frequencies": []})";
  using postproc::Table;
  EXPECT_EQ(refusal_of_sweep(good, [](Table&) {}), "accepted");
  EXPECT_NE(refusal_of_sweep("{}", [](Table&) {}).find("is no summary"),
            std::string::npos);
  // Elsewhere nothing is looked for.
  EXPECT_EQ(
      refusal_of_sweep("{}", [](Table& t) { t.columns[1].texts = {"../cases/aa"}; }),
      "accepted");
  const auto numbers = [](Table& t) { t.columns[2] = {"status", "1", "", {1.0}, {}}; };
  EXPECT_NE(refusal_of_sweep(good, numbers).find("no column status of texts"),
            std::string::npos);
  const auto texts = [](Table& t) { t.columns[0] = {"case", "", "", {}, {"one"}}; };
  EXPECT_NE(refusal_of_sweep(good, texts).find("no column case of numbers"),
            std::string::npos);
}

}  // namespace
}  // namespace torsowave::app
