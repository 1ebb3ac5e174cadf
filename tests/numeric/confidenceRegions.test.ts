import { expect, test } from "vitest";
import {
  chiSquaredTwo95,
  confidenceEllipse,
  fisherTwoQuantile,
  leastVectors,
  meanRegion,
  squaredDistance,
} from "../../client/figures/confidenceEllipse.ts";
import { seededRandom } from "../../src/numeric/seededRandom.ts";
import { describeWith } from "../support/available.ts";
import { runPython } from "../support/run.ts";
import { relativeError, worstRelativeError } from "./relativeError.ts";

// drawn by the client; here, and not beside its other tests, because these start Python, which a browser's types do not know

/** n vectors of a correlated, shifted normal; only an input, never an expectation */
function vectors(seed: number, n: number): [number, number][] {
  const random = seededRandom(seed);
  return Array.from({ length: n }, () => {
    const [u, v] = [random.normal(), random.normal()];
    return [2 + 1.5 * u, -1 + 0.8 * u + 0.4 * v];
  });
}

describeWith(["scipy"], "confidence regions in the plane, against scipy", () => {
  test("F with 2 and m degrees of freedom in closed form gives scipy's quantiles", () => {
    const p = [0.5, 0.9, 0.95, 0.99, 0.9999];
    const m = [1, 2, 3, 5, 8, 17, 60, 1000, 1e6];
    const expected = runPython<number[]>(
      "import json,sys\nfrom scipy.stats import f\np,m=json.load(sys.stdin)\nprint(json.dumps([float(f.ppf(a,2,b)) for a in p for b in m]))",
      [p, m],
    );
    const found = p.flatMap((a) => m.map((b) => fisherTwoQuantile(a, b)));
    // scipy's own iteration holds ten digits and more
    expect(worstRelativeError(found, expected)).toBeLessThan(1e-9);
  });

  test("the ellipse's squared radius is scipy's chi-squared quantile with 2 degrees of freedom", () => {
    const expected = runPython<number>(
      "import json\nfrom scipy.stats import chi2\nprint(json.dumps(float(chi2.ppf(0.95,2))))",
    );
    expect(relativeError(chiSquaredTwo95, expected)).toBeLessThan(1e-12);
  });

  test("half axes and direction are numpy's eigenvalues and eigenvectors of the covariance", () => {
    const covariances = [
      [3, 1, 2],
      [1, -0.4, 0.3],
      [1e-7, 3e-8, 4e-7],
      [5, 0, 1],
      [1, 0, 5],
      [2, 2, 2],
    ] as [number, number, number][];
    const expected = runPython<[number, number, number][]>(
      `import json,sys
import numpy as np
out=[]
for a,b,c in json.load(sys.stdin):
    w,v=np.linalg.eigh(np.array([[a,b],[b,c]]))
    out.append([float(np.sqrt(5.991*max(0,w[1]))),float(np.sqrt(5.991*max(0,w[0]))),float(np.arctan2(v[1,1],v[0,1]))])
print(json.dumps(out))`,
      covariances,
    );
    covariances.forEach((covariance, k) => {
      const { major, minor, angle } = confidenceEllipse(covariance, 5.991);
      const [long, short, direction] = expected[k]!;
      expect(relativeError(major, long)).toBeLessThan(1e-12);
      // the small eigenvalue is a difference of the large ones: absolute, in units of the long half axis
      expect(Math.abs(minor - short)).toBeLessThan(1e-7 * long);
      // an axis has two directions
      expect(Math.abs(Math.sin(angle - direction))).toBeLessThan(1e-12);
    });
  });

  test("the region of a mean is Hotelling's, made by numpy and scipy from the same vectors", () => {
    for (const [seed, n] of [
      [1, 4],
      [2, 5],
      [3, 12],
    ] as const) {
      const given = vectors(seed, n);
      const expected = runPython<{ mean: number[]; axes: number[] }>(
        `import json,sys
import numpy as np
from scipy.stats import f
x=np.array(json.load(sys.stdin)); n=len(x)
w,v=np.linalg.eigh(np.cov(x.T)/n)
r2=2*(n-1)/(n-2)*f.ppf(0.95,2,n-2)
print(json.dumps({"mean":x.mean(0).tolist(),"axes":np.sqrt(w[::-1]*r2).tolist()}))`,
        given,
      );
      const region = meanRegion(given)!;
      expect(region.n).toBe(n);
      expect(worstRelativeError(region.mean, expected.mean)).toBeLessThan(1e-12);
      // scipy's quantile holds ten digits
      expect(worstRelativeError([region.ellipse!.major, region.ellipse!.minor], expected.axes)).toBeLessThan(1e-8);
    }
  });
});

test("F with 2 and 2 degrees of freedom is elementary: its 95 % quantile is 19", () => {
  // 1 - p = 1 / (1 + f)
  expect(fisherTwoQuantile(0.95, 2)).toBeCloseTo(19, 12);
});

test("every point of the ellipse lies at the squared distance it was drawn for", () => {
  const covariance = [3, -1.2, 1] as const;
  const { major, minor, angle } = confidenceEllipse(covariance, chiSquaredTwo95);
  for (let k = 0; k < 16; k++) {
    const turn = (k * Math.PI) / 8;
    const [u, v] = [major * Math.cos(turn), minor * Math.sin(turn)];
    const point = [u * Math.cos(angle) - v * Math.sin(angle), u * Math.sin(angle) + v * Math.cos(angle)] as const;
    // a handful of roundings
    expect(relativeError(squaredDistance(point, covariance), chiSquaredTwo95)).toBeLessThan(1e-12);
  }
});

test("the region of a mean of four, of five and of nine vectors holds the true mean in 95 of 100 cases", () => {
  for (const n of [4, 5, 9]) {
    const trials = 20_000;
    const random = seededRandom(100 + n);
    let held = 0;
    for (let k = 0; k < trials; k++) {
      const { mean, ellipse } = meanRegion(
        Array.from({ length: n }, (): [number, number] => {
          const u = random.normal();
          return [3 * u, u + 0.5 * random.normal()];
        }),
      )!;
      const { major, minor, angle } = ellipse!;
      const along = -mean[0] * Math.cos(angle) - mean[1] * Math.sin(angle);
      const across = mean[0] * Math.sin(angle) - mean[1] * Math.cos(angle);
      if ((along / major) ** 2 + (across / minor) ** 2 <= 1) held++;
    }
    // four standard errors of a share of 20 000: 4 sqrt(0.95 * 0.05 / 20000)
    expect(Math.abs(held / trials - 0.95)).toBeLessThan(0.0062);
  }
});

test("fewer than four vectors have a mean and no region, none has neither", () => {
  expect(leastVectors).toBe(4);
  expect(meanRegion(vectors(5, 3))).toMatchObject({ n: 3, ellipse: null });
  expect(meanRegion([])).toBeNull();
});
