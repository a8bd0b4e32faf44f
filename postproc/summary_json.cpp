#include "postproc/summary_json.hpp"

#include <complex>
#include <nlohmann/json.hpp>
#include <numbers>

#include "postproc/sar_limits.hpp"
#include "postproc/uncertainty.hpp"
#include "postproc/version.hpp"

namespace torsowave::postproc {
namespace {

using Json = nlohmann::ordered_json;

[[nodiscard]] Json grid_of(const GridInfo& grid)
{
  return {{"nx", grid.nx},
          {"ny", grid.ny},
          {"cell_m", grid.cell},
          {"dt_s", grid.time_step},
          {"steps", grid.steps}};
}

[[nodiscard]] Json run_of(const RunInfo& run)
{
  return {{"wall_s", run.wall_seconds},
          {"threads", run.threads},
          {"cell_updates_per_s", run.cell_updates_per_second},
          {"peak_memory_bytes", run.peak_memory_bytes},
          {"stopped_because", run.stopped_because},
          {"instruction_set", run.instruction_set}};
}

[[nodiscard]] Json materials_of(const std::vector<MaterialInfo>& materials)
{
  Json list = Json::array();
  for (const MaterialInfo& material : materials) {
    list.push_back({{"tissue", material.tissue},
                    {"fit_max_relative_error", material.fit_max_relative_error},
                    {"poles", material.poles},
                    {"area_mm2", material.area * 1e6}});
  }
  return list;
}

/// An object even where the map is empty.
[[nodiscard]] Json object_of(const std::map<std::string, double>& values)
{
  Json object = Json::object();
  for (const auto& [name, value] : values) {
    object[name] = value;
  }
  return object;
}

[[nodiscard]] Json sectors_of(const FrequencyResult& frequency,
                              const std::vector<double>& angle_deg)
{
  if (frequency.sector_power.empty()) {
    return nullptr;
  }
  Json sectors{{"angle_deg", angle_deg}, {"power_w_per_m", frequency.sector_power}};
  if (!frequency.sector_grid_error_db.empty()) {
    sectors["grid_error_db"] = frequency.sector_grid_error_db;
  }
  return sectors;
}

[[nodiscard]] Json or_null(const std::optional<double>& value)
{
  return value ? Json(*value) : Json();
}

/// Of those figures that the slab has.
[[nodiscard]] Json errors_of(const LayerErrors& errors, const LayerResponse& slab)
{
  Json item{{"reflectance", or_null(errors.reflectance)},
            {"transmittance", or_null(errors.transmittance)},
            {"absorbed_by_layer", errors.absorbed_by_layer}};
  if (!slab.reflection) {
    item["into_first"] = or_null(errors.into_first);
    item["into_last"] = or_null(errors.into_last);
  }
  return item;
}

[[nodiscard]] Json slab_of(const FrequencyResult& frequency)
{
  if (!frequency.slab) {
    return nullptr;
  }
  const LayerResponse& slab = *frequency.slab;
  Json item{{"reflectance", or_null(slab.reflectance)},
            {"transmittance", or_null(slab.transmittance)},
            {"absorbed_by_layer", slab.absorbed_by_layer}};
  if (slab.into_first) {
    item["into_first"] = *slab.into_first;
    item["into_last"] = or_null(slab.into_last);
  }
  if (slab.reflection) {
    item["reflection_phase_deg"] = std::arg(*slab.reflection) * 180.0 / std::numbers::pi;
  } else {
    item["into_first"] = or_null(slab.into_first);
    item["into_last"] = or_null(slab.into_last);
  }
  item["uncertainty_db"] = errors_of(combined_layer_errors(frequency), slab);
  if (slab.refinement_error) {
    item["grid_error_db"] = errors_of(*slab.refinement_error, slab);
  }
  return item;
}

[[nodiscard]] Json far_field_of(const FrequencyResult& frequency,
                                const std::vector<double>& angle_deg)
{
  if (!frequency.far_field) {
    return nullptr;
  }
  const FarFieldResult& far = *frequency.far_field;
  Json item{{"angle_deg", angle_deg},
            {"gain_db", far.gain_db},
            {"intensity_w_per_m_rad", far.intensity}};
  if (!far.scattering_width.empty()) {
    item["scattering_width_m"] = far.scattering_width;
  }
  if (!far.grid_error_db.empty()) {
    item["grid_error_db"] = far.grid_error_db;
  }
  return item;
}

[[nodiscard]] Json antenna_gain_of(const FrequencyResult& frequency,
                                   const std::vector<double>& angle_deg)
{
  if (!frequency.antenna_gain) {
    return nullptr;
  }
  const AntennaGain& gain = *frequency.antenna_gain;
  return {{"angle_deg", angle_deg},
          {"gain_dbi", gain.gain_dbi},
          {"eirp_w_per_a2m2", gain.eirp},
          {"delivered_w_per_a2m2", gain.delivered},
          {"uncertainty_db", object_of(gain.uncertainty_db)},
          {"uncertainty_combined_db", combined_uncertainty(gain.uncertainty_db).db}};
}

[[nodiscard]] Json link_of(const std::optional<LinkFigures>& link)
{
  if (!link) {
    return nullptr;
  }
  return {{"direction_deg", link->direction_deg},
          {"eirp_dbm", link->eirp_dbm},
          {"received_power_dbm", link->received_power_dbm},
          {"margin_db", link->margin_db},
          {"margin_back_db", link->margin_back_db},
          {"uncertainty_combined_db", link->uncertainty_db},
          {"range_m", or_null(link->range)},
          {"closes_deg", link->closes_deg}};
}

[[nodiscard]] Json link_basis_of(const std::optional<LinkBasis>& basis)
{
  if (!basis) {
    return nullptr;
  }
  return {{"to_skin_m", basis->to_skin},
          {"body_extent_m", basis->body_extent},
          {"assumptions", basis->assumptions}};
}

[[nodiscard]] Json insertion_gain_of(const FrequencyResult& frequency)
{
  if (!frequency.far_field || frequency.far_field->insertion_gain_db.empty()) {
    return nullptr;
  }
  return frequency.far_field->insertion_gain_db;
}

[[nodiscard]] Json refinement_of(const std::optional<Refinement>& refinement)
{
  if (!refinement) {
    return nullptr;
  }
  return {{"cell_m", refinement->cell},
          {"ratio", refinement->ratio},
          {"order", refinement->order},
          {"steps", refinement->steps},
          {"wall_s", refinement->wall_seconds}};
}

[[nodiscard]] Json layers_of(const std::vector<LayerInfo>& layers)
{
  Json list = Json::array();
  for (const LayerInfo& layer : layers) {
    // dump() writes the infinite ends of half-spaces as null.
    list.push_back(
        {{"tissue", layer.tissue}, {"from_m", layer.from}, {"to_m", layer.to}});
  }
  return list;
}

[[nodiscard]] Json spot_of(const std::optional<SarSpot>& spot, const char* unit)
{
  if (!spot) {
    return nullptr;
  }
  Json item{{unit, spot->value},
            {"x_m", spot->at.x},
            {"y_m", spot->at.y},
            {"tissue", spot->tissue}};
  if (spot->side > 0.0) {
    item["side_m"] = spot->side;
  }
  return item;
}

[[nodiscard]] Json peaks_of(const SarPeaks& peaks, const char* unit)
{
  return {{"local", spot_of(peaks.local, unit)},
          {"average_1g", spot_of(peaks.one_gram, unit)},
          {"average_10g", spot_of(peaks.ten_gram, unit)}};
}

[[nodiscard]] Json capsule_of(const std::optional<CapsuleSar>& capsule)
{
  if (!capsule) {
    return nullptr;
  }
  return {{"tissue", capsule->tissue},
          {"delivered_w_per_a2m2", capsule->delivered},
          {"local_end_on_w_per_kg_per_w", capsule->local_end_on},
          {"local_broadside_w_per_kg_per_w", capsule->local_broadside},
          {"average_1g_w_per_kg_per_w", capsule->one_gram},
          {"average_1g_side_m", capsule->one_gram_side},
          {"average_10g_w_per_kg_per_w", capsule->ten_gram},
          {"average_10g_side_m", capsule->ten_gram_side}};
}

/// The published figures beside what was found.
[[nodiscard]] Json limits_of(const SarResult& sar, double frequency, const Result& result)
{
  const bool wave = result.source.kind == "plane wave";
  Json list = Json::array();
  for (const SarLimit& limit : sar_limits()) {
    const std::optional<double> average = largest_average(sar, limit, frequency, wave);
    Json item{{"name", limit.name},
              {"source", limit.source},
              {"averaging_mass_g", limit.mass * 1e3},
              {"figure_w_per_kg", limit.limit}};
    item[wave ? "reached_at_w_per_m2" : "reached_at_w"] =
        average ? Json(limit.limit / *average) : Json();
    if (average && result.transmit_power) {
      item["at_transmit_power_w_per_kg"] = *average * *result.transmit_power;
      item["above_figure"] = *average * *result.transmit_power > limit.limit;
    }
    list.push_back(std::move(item));
  }
  return list;
}

[[nodiscard]] Json sar_of(const FrequencyResult& frequency, const Result& result)
{
  if (!frequency.sar) {
    return nullptr;
  }
  const SarResult& sar = *frequency.sar;
  const bool wave = result.source.kind == "plane wave";
  Json item{{"slice", peaks_of(sar.slice,
                               wave ? "w_per_kg_per_w_per_m2" : "w_per_kg_per_w_per_m")},
            {"beside_capsule", capsule_of(sar.capsule)}};
  item["away_from_capsule"] = nullptr;
  if (sar.away) {
    item["away_from_capsule"] = peaks_of(*sar.away, "w_per_kg_per_w");
    item["away_from_capsule"]["farther_than_m"] = sar.away_from;
  }
  item["transmit_power_w"] = or_null(result.transmit_power);
  item["published_figures"] = limits_of(sar, frequency.frequency, result);
  return item;
}

[[nodiscard]] Json frequency_of(const FrequencyResult& frequency, const Result& result)
{
  Json item;
  item["frequency_hz"] = frequency.frequency;
  item["source_power_w_per_m"] = frequency.source_power;
  item["absorbed_power_w_per_m"] = {
      {"total", frequency.absorbed_power},
      {"by_tissue", object_of(frequency.absorbed_by_tissue)}};
  item["body_surface_power_w_per_m"] = or_null(frequency.body_surface_power);
  item["radiated_power_w_per_m"] = frequency.radiated_power;
  item["power_balance_residual"] = frequency.power_balance_residual;
  item["body_surface_sectors"] = sectors_of(frequency, result.sector_angle_deg);
  item["far_field"] = far_field_of(frequency, result.far_angle_deg);
  item["body_insertion_gain_db"] = insertion_gain_of(frequency);
  item["antenna_gain"] = antenna_gain_of(frequency, result.far_angle_deg);
  item["link"] = link_of(frequency.link);
  item["slab"] = slab_of(frequency);
  item["sar"] = sar_of(frequency, result);
  item["uncertainty"] = object_of(frequency.uncertainty_db);
  const CombinedUncertainty combined = combined_uncertainty(frequency.uncertainty_db);
  item["uncertainty_combined_db"] = combined.db;
  item["uncertainty_largest"] = combined.dominant;
  item["grid_error_db"] = object_of(frequency.grid_error_db);
  return item;
}

}  // namespace

std::string summary_json(const Result& result)
{
  Json summary;
  summary["tool"] = {
      {"name", "torsowave"}, {"version", tool_version()}, {"revision", tool_revision()}};
  summary["caution"] = caution;
  summary["created"] = result.created;
  summary["scenario"] = {{"title", result.title},
                         {"mode", result.mode},
                         {"file_sha256", result.scenario_sha256}};
  summary["source"] = {{"kind", result.source.kind},
                       {"unit", result.source.unit},
                       {"power_unit", result.source.power_unit}};
  if (!result.layers.empty()) {
    summary["layers"] = layers_of(result.layers);
  }
  summary["grid"] = grid_of(result.grid);
  summary["run"] = run_of(result.run);
  summary["refinement"] = refinement_of(result.refinement);
  summary["notes"] = result.notes;
  summary["link_basis"] = link_basis_of(result.link);
  summary["materials"] = materials_of(result.materials);
  summary["frequencies"] = Json::array();
  for (const FrequencyResult& frequency : result.frequencies) {
    summary["frequencies"].push_back(frequency_of(frequency, result));
  }
  // dump() turns NaN and infinity into null; bytes that are no UTF-8 are replaced.
  return summary.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

void write_summary(const std::filesystem::path& path, const Result& result)
{
  write_atomically(path, summary_json(result));
}

}  // namespace torsowave::postproc
