#include "bench/roofline.hpp"

#include <algorithm>
#include <cstdint>
#include <span>
#include <vector>

#include "solver/update_table.hpp"

namespace torsowave::bench {
namespace {

using solver::kernels::Run;
using solver::kernels::RunKind;

void count_cells(const Scene& scene, std::span<const std::uint16_t> entries, int columns,
                 const std::vector<solver::MediumEntry>& palette,
                 const std::vector<double>& times, std::span<const std::uint8_t> averaged,
                 Shares& counts)
{
  const auto table = solver::run_table<float>(
      entries, columns, palette,
      solver::update_coefficients<float>(scene.grid, palette, times), averaged);
  for (const Run& run : table.runs) {
    double& count = run.kind == RunKind::plain     ? counts.plain
                    : run.kind == RunKind::uniform ? counts.uniform
                                                   : counts.mixed;
    const double length = run.end - run.begin;
    count += length;
    counts.averaged += run.averaged != 0 ? length : 0.0;
    counts.mixed_averaged +=
        run.averaged != 0 && run.kind == RunKind::mixed ? length : 0.0;
  }
}

/// Of a field with relaxations, for a given curl (run_body_internal.hpp). Without
/// relaxations f + (Cb c - (1 - Ca) f): 3. With them 4 + 3 K: Cb c - (1 - Ca) f (2), the
/// sum of Cq q (K), f + change and f + f' (2), two for each q. Mixed cells load their
/// coefficients. Where curls are averaged, 6 more and 4 loads of Hz; mixed cells load the
/// weights of both neighbours.
[[nodiscard]] Cost field_cost(const Shares& shares, double poles)
{
  const double with_poles = shares.uniform + shares.mixed;
  Cost cost;
  cost.bytes = 8.0 + 8.0 * poles * with_poles + 4.0 * (2.0 + poles) * shares.mixed +
               8.0 * shares.mixed_averaged;
  cost.arithmetic =
      3.0 * shares.plain + (4.0 + 3.0 * poles) * with_poles + 6.0 * shares.averaged;
  cost.loads = 1.0 + poles * with_poles + (2.0 + poles) * shares.mixed +
               4.0 * shares.averaged + 2.0 * shares.mixed_averaged;
  cost.stores = 1.0 + poles * with_poles;
  return cost;
}

[[nodiscard]] Cost sum(const Cost& a, const Cost& b, double times_b)
{
  return {a.bytes + times_b * b.bytes, a.arithmetic + times_b * b.arithmetic,
          a.loads + times_b * b.loads, a.stores + times_b * b.stores};
}

}  // namespace

Shares shares_of(const Scene& scene)
{
  Shares counts;
  const int nx = scene.grid.raster.nx;
  if (scene.tez) {
    const solver::TezMedium& m = *scene.tez;
    count_cells(scene, m.x_edges, nx, m.palette, m.relaxation_times, m.x_averaged,
                counts);
    count_cells(scene, m.y_edges, nx + 1, m.palette, m.relaxation_times, {}, counts);
  } else {
    const solver::Medium& m = scene.medium;
    count_cells(scene, m.cells, nx, m.palette, m.relaxation_times, {}, counts);
  }
  const double all = counts.plain + counts.uniform + counts.mixed;
  return {counts.plain / all, counts.uniform / all, counts.mixed / all,
          counts.averaged / all, counts.mixed_averaged / all};
}

/// TMz beside Ez (sweep_body_internal.hpp): Hx and Hy in and out 16 bytes, 2 operations
/// each, 3 for the curl, and 2 that shift a vector by one; Hy of the next vector, Hx
/// above, Ez above and Hx are loaded. TEz beside Ex and Ey (tez_body_internal.hpp): Hz in
/// and out 8 bytes, 4 operations, 5 loads; one operation for either curl, and one that
/// shifts; two loads for the one, one for the other.
Cost product_cost(const Scene& scene, const Shares& shares)
{
  const auto poles =
      static_cast<double>(scene.tez ? scene.tez->relaxation_times.size()
                                    : scene.medium.relaxation_times.size());
  const Cost field = field_cost(shares, poles);
  return scene.tez ? sum({8.0, 7.0, 8.0, 1.0}, field, 2.0)
                   : sum({16.0, 9.0, 4.0, 2.0}, field, 1.0);
}

double textbook_bytes(int poles, std::size_t bytes_of_number)
{
  return (12.0 + 3.0 * poles) * static_cast<double>(bytes_of_number);
}

Ceiling ceiling_of(const Cost& cost, int lanes, const MachineSpeed& speed, Level level)
{
  const double by_bytes =
      speed.update[static_cast<std::size_t>(level)].median / cost.bytes;
  const double per_vector =
      std::max({cost.arithmetic / speed.arithmetic.median,
                cost.loads / speed.loads.median, cost.stores / speed.stores.median});
  const double by_instructions =
      per_vector > 0.0 ? lanes / per_vector : 2.0 * by_bytes;  // none were counted
  return by_bytes <= by_instructions ? Ceiling{by_bytes, name_of(level)}
                                     : Ceiling{by_instructions, "instructions"};
}

}  // namespace torsowave::bench
