#include <cstdio>

#include "materials/tissue.hpp"
#include "materials/wave_quantities.hpp"
#include "postproc/version.hpp"

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
  return 0;
}
