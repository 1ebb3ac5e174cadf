/**
 * The 1000 points of NIST SP 1065, section 12: n[0] = 1234567890, n[i+1] = 16807 n[i] mod 2147483647,
 * y[i] = n[i] / 2147483647. 16807 n stays below 2^53, so doubles generate it exactly.
 */
export function sp1065Values(): Float64Array {
  let n = 1234567890;
  return Float64Array.from({ length: 1000 }, () => {
    const value = n / 2147483647;
    n = (16807 * n) % 2147483647;
    return value;
  });
}
