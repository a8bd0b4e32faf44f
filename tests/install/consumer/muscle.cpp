#include <complex>
#include <cstdio>

#include "materials/tissue.hpp"
#include "materials/wave_quantities.hpp"
#include "postproc/version.hpp"
#include "solver/layered_cylinder.hpp"

int main()
{
  namespace materials = torsowave::materials;
  const materials::Tissue* muscle = materials::find_tissue("muscle");
  if (muscle == nullptr) {
    return 1;
  }
  const double frequency = 2.45e9;
  const materials::WaveQuantities wave = materials::wave_quantities(
      materials::relative_permittivity(*muscle, frequency), frequency);
  std::printf("torsowave %s: permittivity %.4f, conductivity %.4f S/m\n",
              torsowave::postproc::tool_version(), wave.permittivity, wave.conductivity);
  namespace cylinder = torsowave::solver::cylinder;
  const cylinder::Solution line({{}, {53.0, -12.47}},
                                torsowave::solver::Polarisation::tmz, frequency,
                                cylinder::LineSource{});
  std::printf("line source: %.2f V/m\n", std::abs(line.at({0.05, 0.0}).z));
  return 0;
}
