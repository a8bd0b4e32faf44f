/// \file
/// \brief From a scenario of mode 1D to the analytic layers, and their answer.

#pragma once

#include <complex>
#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "materials/debye_fit.hpp"
#include "materials/tissue.hpp"
#include "postproc/slab_result.hpp"
#include "scenarios/layer_stack.hpp"
#include "scenarios/scenario.hpp"
#include "solver/layered_medium.hpp"

namespace torsowave::app {

/// Which permittivity a tissue gets.
enum class MediaModel {
  cole_cole,  ///< its own model: Cole-Cole, or what the scenario says
  debye       ///< the fit on shared relaxation times, as a run steps it before the grid's
              ///< dispersion is taken out
};

/// "cole-cole", "debye".
[[nodiscard]] std::string media_name(MediaModel model);

/// The materials of planar layers.
class StackMedia {
public:
  /// \param fit  whether the Debye fit is wanted, over materials.fit.band or from 0.8 of
  ///             the lowest to 1.25 of the highest frequency
  /// \throws scenarios::InputError  The fit misses its bound.
  StackMedia(const scenarios::Scenario& scenario, const std::vector<double>& frequencies,
             bool fit);

  /// \param fitted  the tissues as Debye media, in their order
  StackMedia(std::vector<materials::Tissue> tissues, materials::DebyePalette fitted)
      : tissues_(std::move(tissues)), fitted_(std::move(fitted))
  {
  }

  [[nodiscard]] bool is_conductor(const std::string& tissue) const;

  /// Relative permittivity [1] at `frequency` [Hz]; of no conductor.
  [[nodiscard]] std::complex<double> permittivity(const std::string& tissue,
                                                  MediaModel model,
                                                  double frequency) const;

  /// Largest relative error of any tissue's fit over the band; 0 without a fit.
  [[nodiscard]] double fit_error() const;

private:
  std::vector<materials::Tissue> tissues_;
  materials::DebyePalette fitted_;
};

/// The layers at one frequency, from left to right.
[[nodiscard]] solver::LayeredMedium layered_medium(const scenarios::LayerStack& stack,
                                                   const StackMedia& media,
                                                   MediaModel model, double frequency);

/// What is asked of the layers.
struct SlabRequest {
  std::vector<double> frequencies;  ///< [Hz], rising
  std::vector<double> angles_deg{0.0};
  std::vector<solver::WavePolarisation> polarisations{solver::WavePolarisation::te};
  std::vector<MediaModel> models{MediaModel::cole_cole};
  std::optional<double> loss_db;
  std::size_t profile_points = 0;  ///< over the domain of the scenario; 0: no profiles
};

/// The answer for every frequency, angle, polarisation and model.
/// \param scenario  of mode 1D
/// \throws scenarios::InputError  \see StackMedia
[[nodiscard]] postproc::SlabResult solve_slab(const scenarios::Scenario& scenario,
                                              const StackMedia& media,
                                              const SlabRequest& request);

}  // namespace torsowave::app
