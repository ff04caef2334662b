-- Leak tests by unit and month, in pascals a minute, beside the limit that was printed.
select site, unit, extract(year from began_local) as year, extract(month from began_local) as month,
       count(*) as n_tests, avg(leak_rate_pa_per_min) as mean_pa_per_min,
       max(leak_rate_pa_per_min) as highest_pa_per_min, min(leak_limit_pa_per_min) as limit_pa_per_min
from cycles
where purpose = 'leak-test' and leak_rate_pa_per_min is not null
group by site, unit, extract(year from began_local), extract(month from began_local)
order by site, unit, year, month
